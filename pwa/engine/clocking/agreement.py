"""Several photos of one joint: whether they agree, and what they say together.

The weighted mean and its chi-squared test (JCGM 100:2008, annex H; Birge, Physical Review 40, 1932: an
uncertainty too small for the scatter is widened by the root of chi-squared per degree of freedom). Limits of
perspective are no chance and are not averaged away; a scatter inside them is no disagreement.
"""

import math

from pwa.engine.clocking.perspective import wrap
from pwa.engine.clocking.view import NORMAL
from pwa.engine.clocking.witness import Reading

# 95 % points of chi-squared, 1 to 10 degrees of freedom: NIST/SEMATECH e-Handbook, 1.3.6.7.4
CHI_SQUARED = (3.841, 5.991, 7.815, 9.488, 11.070, 12.592, 14.067, 15.507, 16.919, 18.307)


class Agreement(Reading):
    """A reading like any other; its rim, marks and advice are those of the surest photo."""

    chi_squared: float  # of the scatter beyond the limits
    agree: bool
    sentence: str


def of(readings: "list[Reading]") -> Agreement:
    """What readings of the same joint, not turned between them, say together.

    Raises:
        ValueError: no reading.
    """
    if not readings:
        raise ValueError("There is no reading to compare. Mark at least one photo.")
    best = min(readings, key=lambda reading: reading["u"])
    away = [wrap(reading["angle"] - best["angle"]) for reading in readings]
    weights = [1 / reading["u"] ** 2 for reading in readings]
    whole = sum(weights)
    mean = sum(weight * value for weight, value in zip(weights, away)) / whole
    limit = sum(weight * reading["limit"] for weight, reading in zip(weights, readings)) / whole
    noise = math.sqrt(sum((w * reading["noise"]) ** 2 for w, reading in zip(weights, readings))) / whole
    squares = 0.0
    for value, reading in zip(away, readings):
        beyond = max(0.0, abs(value - mean) - reading["limit"] - limit)
        squares += (beyond / reading["noise"]) ** 2
    spare = len(readings) - 1
    agree = spare == 0 or squares <= _chi_squared(spare)
    if not agree:
        noise *= math.sqrt(squares / spare)
    angle, half = wrap(best["angle"] + mean), limit + NORMAL * noise
    return {
        "angle": angle,
        "u": half / NORMAL,
        "low": angle - half,
        "high": angle + half,
        "noise": noise,
        "limit": limit,
        "perspective": "bounded" if limit > 0 else "removed",
        "ellipse": best["ellipse"],
        "residual": best["residual"],
        "coverage": best["coverage"],
        "tap": best["tap"],
        "marks": best["marks"],
        "shift": best["shift"],
        "nearness": best["nearness"],
        "advice": best["advice"],
        "chi_squared": squares,
        "agree": agree,
        "sentence": _sentence(len(readings), angle, half, agree, [value - mean for value in away]),
    }


def _sentence(count: int, angle: float, half: float, agree: bool, away: "list[float]") -> str:
    said = f"{angle:.1f}° ± {half:.1f}° (95 %)"
    if count == 1:
        return f"One photo: {said}. A second one would show whether it is right."
    if agree:
        return f"{count} photos agree: {said}."
    odd = max(range(count), key=lambda index: abs(away[index]))
    return (
        f"The {count} photos do not agree: {said}. Photo {odd + 1} is {abs(away[odd]):.1f}° off the mean: "
        "check its marks, and that the joint was not turned between them."
    )


def _chi_squared(spare: int) -> float:
    """95 % point; above the table by Wilson and Hilferty's cube (1931), good to 0.1 % there."""
    if spare <= len(CHI_SQUARED):
        return CHI_SQUARED[spare - 1]
    part = 2 / (9 * spare)
    cube: float = spare * (1 - part + 1.6449 * math.sqrt(part)) ** 3
    return cube
