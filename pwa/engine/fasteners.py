"""Threaded fasteners: stress area, proof load, torque, extension correction, tightening order.

A maker's torque always goes first; nothing here replaces it.
Sources: ISO 898-1 (areas, proof stress), Shigley, Mechanical Engineering Design (T = K d F),
US Army TM 1-1500-204-23-9 (extension), ISO 6789 (tools).
"""

from math import cos, pi, radians, sin

from pwa.engine import units

# Proof stress in MPa for sizes up to M16, ISO 898-1:2013 table 3. 4.6 and 5.6 are from memory.
PROOF_STRESS = {
    "4.6": 225.0, "4.8": 310.0, "5.6": 280.0, "5.8": 380.0, "6.8": 440.0, "8.8": 580.0, "9.8": 650.0,
    "10.9": 830.0, "12.9": 970.0,
}  # fmt: skip


def stress_area(diameter: float, pitch: float) -> float:
    """mm² of an ISO thread of `diameter` and `pitch` mm: π/4 (d − 0.938194 P)² (ISO 898-1).

    Raises:
        ValueError: a pitch that no such thread has.
    """
    if not 0 < pitch < diameter:
        raise ValueError("A thread has a pitch above 0 mm and below its diameter.")
    core = diameter - 0.938194 * pitch
    return pi / 4 * core * core


def proof_load(diameter: float, pitch: float, strength: str) -> float:
    """N that a bolt up to 16 mm of a class such as "10.9" carries without lasting stretch: Sp As (ISO 898-1).

    Raises:
        ValueError: a class or size outside the table.
    """
    if strength not in PROOF_STRESS:
        raise ValueError(f"{strength} is no property class known here; it stands on the bolt's head.")
    if diameter > 16:
        raise ValueError("Proof stress is known here for threads up to 16 mm.")
    return PROOF_STRESS[strength] * stress_area(diameter, pitch)


def torque_for_preload(k: float, diameter: float, force: float) -> float:
    """N·m for a preload `force` in N: T = K d F, d in mm (Shigley). K is 0.2 for a dry zinc-plated bolt."""
    return k * diameter / 1000 * force


def exceeds_proof(torque: float, k: float, diameter: float, pitch: float, strength: str) -> str:
    """A warning if `torque` in N·m, at that K, loads the bolt beyond its proof load; else "".

    F = T / (K d), held against Sp · As.

    Raises:
        ValueError: no K, or a thread or class that `proof_load` refuses.
    """
    if k <= 0:
        raise ValueError("The nut factor K is above 0; 0.2 is usual for a dry bolt.")
    force, proof = torque / (k * diameter / 1000), proof_load(diameter, pitch, strength)
    if force <= proof:
        return ""
    return (
        f"{torque:.1f} N·m at K = {k:.2f} loads the bolt with {force / 1000:.1f} kN, above the "
        f"{proof / 1000:.1f} kN that class {strength} carries without lasting stretch. "
        "Check unit, size and class; the maker's value goes first."
    )


def newton_metres(pound_feet: float) -> float:
    return units.convert(pound_feet, "lb·ft", "N·m")


def pound_feet(newton_metres: float) -> float:
    return units.convert(newton_metres, "N·m", "lb·ft")


def extension(torque: float, wrench: float, length: float, angle_deg: float) -> float:
    """What the wrench must be set to, so that `torque` arrives at the fastener: T L / (L + E cos θ).

    `wrench` L is from the drive to the middle of the grip, `length` E of the extension from the drive to the
    fastener, in the same unit; `angle_deg` θ in degrees, 0 straight ahead, 90 square, 180 folded back.
    A plain socket extension on the drive's own axis needs no correction.

    Raises:
        ValueError: a length that cannot be, or an extension folded back almost onto the grip.
    """
    if wrench <= 0 or length < 0:
        raise ValueError("The wrench's length is above 0 and the extension's at least 0.")
    lever = wrench + length * cos(radians(angle_deg))
    if lever <= 0.2 * wrench:
        raise ValueError("Folded back this far the wrench says nothing about the torque; turn the extension.")
    return torque * wrench / lever


def pattern(count: int, kind: str) -> "list[int]":
    """The order in which bolts numbered clockwise from the top are tightened.

    "circle" goes round. "cross" goes across the joint and then into the widest space left, or as a star when
    the count is odd. "spiral" goes from the middle of a row outwards (bolts of a row are numbered along it).
    Common practice, no source; the maker's order goes first.

    Raises:
        ValueError: no fastener, or another kind.
    """
    if count < 1:
        raise ValueError("There is at least one fastener.")
    if kind == "circle":
        return list(range(1, count + 1))
    if kind == "spiral":
        middle = (count + 1) / 2
        return sorted(range(1, count + 1), key=lambda bolt: (abs(bolt - middle), bolt))
    if kind != "cross":
        raise ValueError(f"{kind} is no order known here: cross, circle or spiral.")
    if count % 2:  # nothing lies straight across, so go on by almost half a turn each time: a star
        return [count // 2 * step % count + 1 for step in range(count)]
    order: list[int] = []
    while len(order) < count:
        left = [bolt for bolt in range(1, count // 2 + 1) if bolt not in order]
        bolt = max(
            left, key=lambda bolt: (_nearest(bolt, order, count), _nearest(bolt, order[-2:], count), -bolt)
        )
        order += [bolt, bolt + count // 2]
    return order


def positions(count: int) -> "list[list[float]]":
    """Where the bolts stand on a circle of radius 1: the first at the top, then clockwise, y down."""
    return [[sin(2 * pi * bolt / count), -cos(2 * pi * bolt / count)] for bolt in range(count)]


def _nearest(bolt: int, others: "list[int]", count: int) -> int:
    """Bolts from `bolt` to the closest of the others, the shorter way round."""
    apart = [abs(bolt - other) for other in others]
    return min([min(steps, count - steps) for steps in apart] or [count])
