"""Where the fault lies: on the VGT's control side, in its mechanism, in both, or not in the VGT at all.

The control side is the actuator with its power, wiring, bus, air or oil, and calibration. The mechanism is
the linkage, the vane pack and the rest of the turbocharger. All else is outside, and goes by its system.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.network import none

if TYPE_CHECKING:
    from pwa.engine.evidence.network import Model, Pass

CONTROL, MECHANISM, OUTSIDE = "control", "mechanism", "outside"
SIDES = (CONTROL, MECHANISM, OUTSIDE)
SIDE_NAMES = {CONTROL: "control side", MECHANISM: "mechanism", OUTSIDE: "outside the VGT"}
NOT_VGT = "not-vgt"
STANDING = (
    (CONTROL, "Control side only"),
    (MECHANISM, "Mechanism only"),
    ("both", "Both"),
    (NOT_VGT, "Not the VGT"),
)
# The systems outside the VGT, as a technician names them.
SYSTEMS = (
    ("air path", "air path"),
    ("exhaust", "exhaust before the turbine"),
    ("aftertreatment", "aftertreatment"),
    ("egr", "EGR"),
    ("fuel", "fuel"),
    ("oil", "oil"),
    ("cooling", "cooling"),
    ("engine", "engine"),
    ("sensors", "engine sensors"),
    ("derate", "derate"),
    ("use", "how the truck is used"),
    ("electrical", "truck electrics"),
)
# How sure, in words with a stated meaning.
SURE = (
    (0.95, "nearly certain (over 95 %)"),
    (0.80, "likely (80 to 95 %)"),
    (0.60, "more likely than not (60 to 80 %)"),
    (0.0, "open (no more than 60 % for any)"),
)
EVEN = 9  # decimals in which two chances must differ to be ranked; then the order above decides


class System(TypedDict):
    """A system outside the VGT: `p` is the chance that it has a fault and the VGT has none."""

    system: str
    name: str
    p: float


def standing(whole: "Pass", free: "dict[str, Pass]", neither: "Pass") -> "dict[str, float]":
    """The four chances of `STANDING`, which add up to 1.

    Args:
        free: of each side the pass without any fault there.
        neither: the pass without any fault of the VGT.
    """
    no_control, no_mechanism = free[CONTROL].total, free[MECHANISM].total
    parts = {
        CONTROL: no_mechanism - neither.total,
        MECHANISM: no_control - neither.total,
        "both": whole.total - no_control - no_mechanism + neither.total,
        NOT_VGT: neither.total,
    }
    return {key: max(parts[key] / whole.total, 0.0) for key, _ in STANDING}


def outside(model: "Model", whole: "Pass", neither: "Pass") -> "list[System]":
    """The systems outside the VGT that have causes in this model, the most probable first."""
    found: list[System] = []
    for key, name in SYSTEMS:
        causes = causes_of(model, key)
        if causes:
            p = (neither.total - neither.probability(none(causes))) / whole.total
            found.append({"system": key, "name": name, "p": max(p, 0.0)})
    order = [key for key, _ in SYSTEMS]
    return sorted(found, key=lambda item: (-round(item["p"], EVEN), order.index(item["system"])))


def causes_of(model: "Model", system: str) -> "list[str]":
    """The causes of one system."""
    return [item["name"] for item in model["variables"] if item.get("system") == system]


def name_of(system: str) -> str:
    """How a side of the VGT or a system outside it is called; "" for an effect."""
    if system in SIDE_NAMES:
        return SIDE_NAMES[system]
    return "".join([name for key, name in SYSTEMS if key == system])


def as_text(standing: "dict[str, float]") -> str:
    """The leading standing in words, and how sure it is."""
    leading = max([standing[key] for key, _ in STANDING])
    name = next(name for key, name in STANDING if standing[key] == leading)
    sure = next(words for least, words in SURE if leading >= least)
    return f"{name}: {sure}."
