"""Threaded fasteners: stress area, proof load, torque, extension correction, tightening order.

A maker's torque always goes first; nothing here replaces it.
Sources: ISO 898-1 (areas, proof stress), Shigley, Mechanical Engineering Design (T = K d F),
US Army TM 1-1500-204-23-9 (extension), ISO 6789 (tools).
"""

from math import cos, pi, radians, sin

# Proof stress in MPa for sizes up to M16, ISO 898-1:2013 table 3. 4.6 and 5.6 are from memory.
PROOF_STRESS = {
    "4.6": 225.0, "4.8": 310.0, "5.6": 280.0, "5.8": 380.0, "6.8": 440.0, "8.8": 580.0, "9.8": 650.0,
    "10.9": 830.0, "12.9": 970.0,
}  # fmt: skip


def stress_area(diameter: float, pitch: float) -> float:
    """mm² of an ISO thread of `diameter` and `pitch` mm: π/4 (d − 0.938194 P)² (ISO 898-1)."""
    if not 0 < pitch < diameter:
        raise ValueError("A thread has a pitch above 0 mm and below its diameter.")
    core = diameter - 0.938194 * pitch
    return pi / 4 * core * core


def proof_load(diameter: float, pitch: float, strength: str) -> float:
    """N that a bolt up to 16 mm of a class such as "10.9" carries without lasting stretch (ISO 898-1)."""
    if strength not in PROOF_STRESS:
        raise ValueError(f"{strength} is no property class known here; it stands on the bolt's head.")
    if diameter > 16:
        raise ValueError("Proof stress is known here for threads up to 16 mm.")
    return PROOF_STRESS[strength] * stress_area(diameter, pitch)


def torque_for(preload: float, diameter: float, factor: float) -> float:
    """N·m for a preload in N: T = K d F, d in mm (Shigley). K is 0.2 for a usual dry zinc-plated bolt."""
    return factor * diameter / 1000 * preload


def extension(torque: float, wrench: float, length: float, angle: float) -> float:
    """What the wrench must be set to, so that `torque` arrives at the fastener: T L / (L + E cos θ).

    `wrench` L is from the drive to the middle of the grip, `length` E of the extension from the drive to the
    fastener, in the same unit; `angle` θ in degrees, 0 straight ahead, 90 square, 180 folded back.
    A plain socket extension on the drive's own axis needs no correction.
    """
    if wrench <= 0 or length < 0:
        raise ValueError("The wrench's length is above 0 and the extension's at least 0.")
    lever = wrench + length * cos(radians(angle))
    if lever <= 0.2 * wrench:
        raise ValueError("Folded back this far the wrench says nothing about the torque; turn the extension.")
    return torque * wrench / lever


def pattern(count: int, kind: str) -> "list[int]":
    """The order in which bolts numbered clockwise from the top are tightened.

    "circle" goes round; "cross" always to the bolt furthest from those just done; "spiral" from the middle of
    a row outwards (bolts of a row are numbered along it).
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
    order = [1]
    while len(order) < count:
        left = [bolt for bolt in range(1, count + 1) if bolt not in order]
        if len(order) % 2:  # across from the last one
            order.append(max(left, key=lambda bolt: (_gap(bolt, order[-1], count), -bolt)))
        else:  # into the widest space still untouched
            order.append(max(left, key=lambda bolt: (_nearest(bolt, order, count), -bolt)))
    return order


def positions(count: int) -> "list[list[float]]":
    """Where the bolts stand on a circle of radius 1: the first at the top, then clockwise, y down."""
    return [[sin(2 * pi * bolt / count), -cos(2 * pi * bolt / count)] for bolt in range(count)]


def _gap(one: int, other: int, count: int) -> int:
    apart = abs(one - other) % count
    return min(apart, count - apart)


def _nearest(bolt: int, done: "list[int]", count: int) -> int:
    return min([_gap(bolt, other, count) for other in done])
