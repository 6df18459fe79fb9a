"""Threads: their stress area, what their bolt's class or grade bears, and its proof load.

Metric: ISO 898-1:2013 tables 3 to 5, threads of ISO 68-1. Inch: SAE J429 as printed in Shigley, Mechanical
Engineering Design, with the stress area of ASME B1.1. What is from memory is marked so.
"""

from math import pi
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    # Up to this diameter in mm: proof stress, yield and tensile strength in MPa.
    Band = tuple[float, float, float, float]

INCH = 0.0254  # m
KSI = 6.894757  # MPa
CUT = {"iso": 0.938194, "inch": 0.9743}  # pitches that the stress diameter is below the thread's

METRIC: "dict[str, list[Band]]" = {
    "4.6": [(39, 225, 240, 400)],  # from memory
    "4.8": [(39, 310, 340, 420)],
    "5.6": [(39, 280, 300, 500)],  # from memory
    "5.8": [(39, 380, 420, 520)],
    "6.8": [(39, 440, 480, 600)],
    "8.8": [(16, 580, 640, 800), (39, 600, 660, 830)],  # above 16 mm from memory
    "9.8": [(16, 650, 720, 900)],
    "10.9": [(39, 830, 940, 1040)],
    "12.9": [(39, 970, 1100, 1220)],
}
GRADES: "dict[str, list[Band]]" = {
    "grade-2": [
        (0.75 * 25.4, 55 * KSI, 57 * KSI, 74 * KSI),
        (1.5 * 25.4, 33 * KSI, 36 * KSI, 60 * KSI),
    ],
    "grade-5": [(25.4, 85 * KSI, 92 * KSI, 120 * KSI), (1.5 * 25.4, 74 * KSI, 81 * KSI, 105 * KSI)],
    "grade-8": [(1.5 * 25.4, 120 * KSI, 130 * KSI, 150 * KSI)],
    "grade-8.2": [(25.4, 120 * KSI, 130 * KSI, 150 * KSI)],
}


class Strength(TypedDict):
    """In Pa. `standard` is the one whose stress area goes with it: "iso" or "inch"."""

    proof: float
    yielding: float
    tensile: float
    standard: str


def strength(name: str, diameter: float) -> Strength:
    """What a bolt of `diameter` m bears, of a class such as "10.9" or a grade such as "grade-8".

    Raises:
        ValueError: an unknown class, or a size it is not made in.
    """
    standard = "iso" if name in METRIC else "inch"
    bands = METRIC.get(name) or GRADES.get(name)
    if not bands:
        raise ValueError(f"{name} is no property class or grade known here; it stands on the bolt's head.")
    for upto, proof, yielding, tensile in bands:
        if diameter * 1000 <= upto + 1e-6:
            return {
                "proof": proof * 1e6,
                "yielding": yielding * 1e6,
                "tensile": tensile * 1e6,
                "standard": standard,
            }
    raise ValueError(f"Class {name} is known here up to {bands[-1][0]:.1f} mm.".replace("-", " "))


def stress_area(diameter: float, pitch: float, standard: str = "iso") -> float:
    """m² of a thread: π/4 (d − 0.938194 P)² by ISO 898-1, π/4 (d − 0.9743 P)² by ASME B1.1; d, P in m.

    Raises:
        ValueError: a pitch that no such thread has.
    """
    if not 0.02 * diameter <= pitch <= 0.3 * diameter or diameter <= 0:
        raise ValueError(
            f"A thread of {diameter * 1000:.4g} mm has no pitch of {pitch * 1000:.4g} mm. "
            "Check both and their units."
        )
    core = diameter - CUT[standard] * pitch
    return pi / 4 * core * core


def proof_load(diameter: float, pitch: float, name: str) -> float:
    """N that a bolt carries without lasting stretch: proof stress times stress area.

    Raises:
        ValueError: a class, size or pitch that cannot be.
    """
    found = strength(name, diameter)
    return found["proof"] * stress_area(diameter, pitch, found["standard"])


def pitch(per_inch: float) -> float:
    """m of the pitch of an inch thread: 25.4 mm / n.

    Raises:
        ValueError: no thread has so many or so few to the inch.
    """
    if not 2 <= per_inch <= 80:
        raise ValueError("Inch threads have from 2 to 80 threads per inch.")
    return INCH / per_inch
