"""Tightening at the joint: wrench with an extension, stages, order, where bolts stand.

A maker's torque, stages and order always go first; nothing here replaces them.
Sources: US Army TM 1-1500-204-23-9 (extension); the rest is common practice.
"""

from math import cos, pi, radians, sin


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


def stages(final: float, first: float, count: int) -> "list[float]":
    """Torques of `count` stages in even steps from `first`, a share of the final torque, up to all of it.

    Common practice, no source; the maker's stages go first.

    Raises:
        ValueError: no torque, no stage, or a first share that is none.
    """
    if final <= 0:
        raise ValueError("A torque is above 0.")
    if not 1 <= count <= 6:
        raise ValueError("There are from 1 to 6 stages.")
    if not 0 < first < 1:
        raise ValueError("The first stage is a part of the final torque, above none and below all of it.")
    if count == 1:
        return [final]
    return [final * (first + (1 - first) * step / (count - 1)) for step in range(count)]


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


def in_row(count: int) -> "list[list[float]]":
    """Where bolts of a row stand, from -1 to 1, every other one lower, so that many fit a drawing."""
    if count == 1:
        return [[0.0, 0.0]]
    return [[2 * bolt / (count - 1) - 1, 0.25 if bolt % 2 else -0.25] for bolt in range(count)]


def _nearest(bolt: int, others: "list[int]", count: int) -> int:
    """Bolts from `bolt` to the closest of the others, the shorter way round."""
    apart = [abs(bolt - other) for other in others]
    return min([min(steps, count - steps) for steps in apart] or [count])
