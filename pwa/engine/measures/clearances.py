"""Shaft play from a dial indicator, against values the shop typed with their source; none is built in."""

from math import cos, radians
from typing import TYPE_CHECKING

from pwa.engine.measures.declared import Calculation, maybe, number, rows
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict

MOST = 5e-3  # m: more than any turbo's shaft moves before its wheels strike
STEEPEST = 60.0  # degrees between the indicator and the movement; beyond it shows next to nothing


def radial_play(values: "Values", limits: "Values") -> "Verdict":
    """Sideways play: the largest of the directions tried."""
    return _play(values, limits, "sideways")


def axial_play(values: "Values", limits: "Values") -> "Verdict":
    """End play: the largest of the repeats."""
    return _play(values, limits, "end to end")


def _play(values: "Values", limits: "Values", way: str) -> "Verdict":
    """Highest less lowest reading of each row, times the cosine of the indicator's slant."""
    slant, most, least = values.get("slant", 0.0), values["most"], values.get("least", 0.0)
    if not 0 <= slant <= STEEPEST:
        raise ValueError(f"The indicator's slant is 0 to {STEEPEST:.0f}°: set it in line with the movement.")
    if most <= 0 or not 0 <= least < most:
        raise ValueError("The most allowed is above 0, and the least is below the most.")
    plays = [abs(high - low) * cos(radians(slant)) for low, high in values["readings"]]
    found, doubt = max(plays), limits["doubt"] / 1000
    if found > MOST:
        raise ValueError(f"{as_text(found)} of play cannot be. Check the numbers and their unit.")
    details = [
        detail("Play, the largest", found * 1000, "mm"),
        detail("Smallest of the rows", min(plays) * 1000, "mm"),
        detail("Most allowed", most * 1000, "mm"),
        detail("A reading may be off by", doubt * 1000, "mm"),
    ]
    warnings = []
    if slant:
        warnings.append("Read with a slanted indicator, corrected by the cosine: in line is better.")
    if len(plays) == 1:
        warnings.append("One row alone: read again, at two turns of the shaft or more.")
    outcome, judged = _judge(found, least, most, doubt)
    return verdict(
        found * 1000, "mm", outcome, f"{as_text(found)} of play {way}, {judged}", details, warnings
    )


def _judge(found: float, least: float, most: float, doubt: float) -> "tuple[str, str]":
    if found > most + doubt:
        return "high", f"more than {as_text(most)}: the bearings are worn, look at wheels and housings too."
    if found > most - doubt:
        return "", f"too close to {as_text(most)} to tell. Clean the shaft's end and read again."
    if found + doubt < least:
        return (
            "",
            f"less than {as_text(least)}: something holds the shaft, coke or a wrong set-up. Read again.",
        )
    return "ok", f"not more than {as_text(most)}."


def as_text(length: float) -> str:
    """A play in both units that dial indicators have."""
    return f"{length * 1000:.3f} mm ({length / 0.0254:.4f} in)"


PLAY = (
    rows("readings", ("low", "length"), ("high", "length")),
    number("most", "length"),
    maybe("least", "length"),
    maybe("slant", "angle"),
)
CALCULATIONS: "dict[str, Calculation]" = {
    "radial_play": Calculation(radial_play, PLAY, {"doubt": "mm"}, ("ok", "high")),
    "axial_play": Calculation(axial_play, PLAY, {"doubt": "mm"}, ("ok", "high")),
}
