"""A torque sheet as the shop enters it: torque, source, stages, wrench, and the bolt it must not overload."""

from typing import TYPE_CHECKING

from pwa.app.bolts import diagram
from pwa.engine import measures
from pwa.engine.bolts import fasteners
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import Bolt, Fastener, Torque

UNITS = [
    {"key": "N·m", "label": "N·m"},
    {"key": "lb·ft", "label": "lb·ft"},
    {"key": "lb·in", "label": "lb·in"},
]
SHEET = ("count", "kind", "torque", "unit", "source", "stages", "turn", "wrench", "extension", "angle")
BOLT = ("diameter", "pitch", "per_inch", "strength", "meant", "surface")
FIELDS = SHEET + BOLT
# The worksheet that has the choices of class and thread, so that both ask alike.
CHECK = "torque-check"
SCATTER = 25.0  # % of the preload, our estimate
TOOL = 0.04  # ISO 6789: a setting torque tool is within 4 % above 10 N·m
SMALL, SMALL_TOOL = 10.0, 0.06  # and within 6 % up to 10 N·m
ANGLE = 5.0  # degrees an angle may be off before it is pointed out; common practice


def read(typed: "dict[str, str]", place: str) -> "Fastener":
    """The record's data; `place` is what the sheet is for.

    Raises:
        ValueError: the first thing that is wrong or missing.
    """
    if not typed["source"]:
        raise ValueError(
            "Write where the torque comes from: the maker's manual and page, or who measured it."
        )
    if typed["unit"] not in [unit["key"] for unit in UNITS]:
        raise ValueError("Choose the unit of the torque.")
    if typed["kind"] not in [kind["key"] for kind in diagram.KINDS]:
        raise ValueError("Choose the order of tightening.")
    if not typed["count"].isdigit() or not 1 <= int(typed["count"]) <= diagram.MOST:
        raise ValueError(f"The number of fasteners is a whole number from 1 to {diagram.MOST}.")
    torque = units.parse(typed["torque"], "torque", typed["unit"])
    if torque <= 0:
        raise ValueError("The torque must be more than nothing.")
    data: Fastener = {
        "place": place,
        "count": int(typed["count"]),
        "kind": typed["kind"],
        "torque": torque,
        "typed": typed["torque"],
        "unit": typed["unit"],
        "source": typed["source"],
        "stages": _stages(typed, torque),
        "turn": _turn(typed["turn"]),
        "wrench": None,
        "extension": None,
        "angle": None,
        "setting": torque,
        "bolt": _bolt(typed),
    }
    if typed["extension"]:
        wrench = units.parse(typed["wrench"], "length", "mm")
        extension = units.parse(typed["extension"], "length", "mm")
        angle = units.parse(typed["angle"] or "0", "angle", "°")
        data["wrench"], data["extension"], data["angle"] = wrench, extension, angle
        data["setting"] = fasteners.extension(torque, wrench, extension, angle)
    warnings(data)  # a bolt that cannot be is refused here
    return data


def warnings(data: "Fastener") -> "list[str]":
    """What speaks against this torque on this bolt: beyond its proof load, or not meant for its thread."""
    # Here and not above: loaded when a torque sheet is, so that the phone's start does not pay for it.
    from pwa.engine.measures.fasteners import MAKER, lubricated

    bolt = data.get("bolt") or {}
    if "strength" in bolt and "diameter" in bolt and "surface" in bolt:
        values = dict(bolt)
        values["torque"] = data["torque"]
        verdict = measures.calculate("fasteners.torque_check", values, {"scatter": SCATTER})
        said = [verdict["sentence"]] if verdict["outcome"] == "high" else []
        return said + [text for text in verdict["warnings"] if text != MAKER]
    return lubricated(data["torque"], bolt.get("meant", "unknown"), bolt.get("surface", ""))


def off(sheet: "Fastener", tick: "Torque") -> str:
    """In words, how far the wrench or the angle was off what the sheet wants; "" if it was not."""
    turn = sheet.get("turn")
    if turn:
        away = abs((tick.get("turned") or 0.0) - turn)
        return f"more than {ANGLE:.0f}° off, check" if away > ANGLE else ""
    torque = sheet["torque"]
    share = TOOL if torque > SMALL else SMALL_TOOL
    return (
        f"more than {100 * share:.0f} % off the value, check"
        if abs(tick["actual"] - torque) > share * torque
        else ""
    )


def both(torque: float) -> str:
    """A torque as both kinds of wrench show it."""
    return f"{units.show(torque, 'N·m')} ({units.show(torque, 'lb·ft')})"


def plan(data: "Fastener") -> "list[str]":
    """The stages in words, with what the wrench is set to; empty when there is only one."""
    torques = (data.get("stages") or []) + [data["torque"]]
    setting = data["setting"] / data["torque"]
    steps = [both(step) + (f", set {both(step * setting)}" if data["extension"] else "") for step in torques]
    if data.get("turn"):
        steps.append(f"{data['turn']:g}° further, marked with paint")
    return steps if len(steps) > 1 else []


def _stages(typed: "dict[str, str]", torque: float) -> "list[float]":
    """Torques before the last one, rising: "20; 40"."""
    steps = [
        units.parse(part, "torque", typed["unit"]) for part in typed["stages"].split(";") if part.strip()
    ]
    rising = steps + [torque]
    if steps and (steps[0] <= 0 or any(rising[at] >= rising[at + 1] for at in range(len(steps)))):
        raise ValueError("Stages rise from above nothing to below the last torque. Part them by a semicolon.")
    return steps


def _turn(typed: str) -> "float | None":
    if not typed:
        return None
    angle = units.parse(typed, "angle", "°")
    if not 0 < angle <= 720:
        raise ValueError("The angle is above 0° and at most two turns.")
    return angle


def _bolt(typed: "dict[str, str]") -> "Bolt":
    """What is known of the bolt itself; all of it, or none but what is on the thread."""
    bolt: Any = {}
    for name, quantity, unit in (
        ("diameter", "length", "mm"),
        ("pitch", "length", "mm"),
        ("per_inch", "threads", "threads/in"),
    ):
        if typed[name]:
            bolt[name] = units.parse(typed[name], quantity, unit)
    for name in ("strength", "surface"):
        if typed[name]:
            bolt[name] = typed[name]
    known = [name for name in ("diameter", "strength", "surface") if name in bolt]
    if ("diameter" in bolt or "strength" in bolt) and len(known) < 3:
        raise ValueError(
            "To check the bolt itself, give its diameter, its pitch, its class and what is on the thread."
        )
    if bolt:
        bolt["meant"] = typed["meant"] or "unknown"
    found: Bolt = bolt
    return found
