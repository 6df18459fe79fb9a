"""Torque and preload: what a torque stretches a bolt to, and which torque a preload needs.

A maker's torque always goes first: these are estimates, because friction takes most of a torque and is
known to a quarter at best. Sources: Shigley, Mechanical Engineering Design (T = K d F, proof load shares);
VDI 2230:2001 (friction, most preload). All in SI; angles in degrees.
"""

from math import pi, sqrt

ELASTIC = 205e9  # Pa, Young's modulus of steel, as VDI 2230 takes it
ALWAYS = 0.649519  # pitches that the pitch diameter is below the thread's (ISO 724)
CORE = 1.226869  # pitches that the core of the bolt is below it (ISO 724)


def torque(k: float, diameter: float, preload: float) -> float:
    """N·m for a preload in N: T = K d F.

    Raises:
        ValueError: a nut factor that cannot be, or no preload.
    """
    if preload <= 0:
        raise ValueError("A preload is above 0.")
    return _factor(k) * diameter * preload


def preload(k: float, diameter: float, torque: float) -> float:
    """N that a torque gives: F = T / (K d).

    Raises:
        ValueError: a nut factor that cannot be, or no torque.
    """
    if torque <= 0:
        raise ValueError("A torque is above 0.")
    return torque / (_factor(k) * diameter)


def _factor(k: float) -> float:
    if not 0.05 <= k <= 0.5:
        raise ValueError("The nut factor K lies between 0.05 and 0.5; 0.2 is usual for a zinc-plated bolt.")
    return k


def torque_by_friction(
    preload: float, diameter: float, pitch: float, thread: float, head: float, bearing: float
) -> float:
    """N·m by VDI 2230: T = F (P/2π + 0.577 d2 μG + DKm/2 μK).

    `thread` μG and `head` μK are coefficients of friction, `bearing` DKm the mean diameter under the head.

    Raises:
        ValueError: no preload, friction that cannot be, or a bearing face inside the bolt.
    """
    if preload <= 0:
        raise ValueError("A preload is above 0.")
    _friction(thread)
    _friction(head)
    if bearing < diameter:
        raise ValueError("The mean diameter under the head is above the thread's.")
    pitch_diameter = diameter - ALWAYS * pitch
    return preload * (pitch / (2 * pi) + 0.577 * pitch_diameter * thread + bearing / 2 * head)


def most_preload(diameter: float, pitch: float, yielding: float, thread: float, use: float = 0.9) -> float:
    """N at which pull and twist together use a share of the yield strength while tightening (VDI 2230:2001).

    F = use Rp A0 / √(1 + 3 (3/2 d2/d0 (P/(π d2) + 1.155 μG))²), d0 the stress diameter, A0 = π/4 d0².

    Raises:
        ValueError: friction that cannot be.
    """
    _friction(thread)
    pitch_diameter = diameter - ALWAYS * pitch
    stress_diameter = (pitch_diameter + diameter - CORE * pitch) / 2
    twist = 1.5 * pitch_diameter / stress_diameter * (pitch / (pi * pitch_diameter) + 1.155 * thread)
    area = pi / 4 * stress_diameter * stress_diameter
    return use * yielding * area / sqrt(1 + 3 * twist * twist)


def _friction(coefficient: float) -> None:
    if not 0.02 <= coefficient <= 0.5:
        raise ValueError("A coefficient of friction here lies between 0.02 and 0.5; about 0.12 if oiled.")


def turned(angle: float, pitch: float, area: float, grip: float, share: float) -> float:
    """N that turning a seated nut by `angle` degrees adds: F = share · θ/360 · P · E A / L, while elastic.

    `area` of the bolt, `grip` its clamped length; `share` is the part of the turn that stretches the bolt and
    does not squeeze the joint: 1 if the parts are rigid, else k_joint / (k_bolt + k_joint) (Shigley).

    Raises:
        ValueError: a turn, length or share that cannot be.
    """
    if not 0 < angle <= 720:
        raise ValueError("The angle is above 0° and at most two turns.")
    if grip <= 0:
        raise ValueError("The clamped length is above 0.")
    if not 0 < share <= 1:
        raise ValueError("The share of the turn that stretches the bolt is above 0 and at most all of it.")
    return share * angle / 360 * pitch * ELASTIC * area / grip
