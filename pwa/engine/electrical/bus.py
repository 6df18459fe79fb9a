"""The data bus of a truck with a meter: terminators by their resistance, levels by two voltages.

Sources: ISO 11898-2 (levels, as data sheets of transceivers agree on them), SAE J1939-11 (120 Ω at each end).
"""

from typing import TypedDict

# Ω across CAN_H and CAN_L with the power off -> terminators. Derived from 100 to 130 Ω each, in parallel.
BANDS = ((100.0, 130.0, 1), (50.0, 65.0, 2), (33.0, 43.5, 3), (25.0, 32.5, 4))
SHORT = 5.0  # Ω; less is metal on metal; our estimate
OPEN = 1000.0  # Ω; more is no terminator, only what the units' inputs let through; our estimate
ALSO = {
    0: [
        "Perhaps only your branch is cut off: measure at another plug.",
        "Perhaps the meter is on the wrong pins.",
    ],
    1: [
        "Perhaps one end of the bus is cut off from you: a broken wire or an open plug.",
        "Perhaps a unit with a terminator inside is unplugged.",
    ],
    2: [
        "Each wire can still touch ground or a supply: measure both of them to ground too.",
        "The sum does not tell where the two are: one may stand at a wrong place for a missing one.",
    ],
    3: [
        "Perhaps a reader or logger with a terminator of its own is plugged in.",
        "Perhaps a unit for the end of a bus was put in its middle.",
    ],
}
BAD = [
    "Perhaps a terminator has changed its value, or water or a bad joint adds or takes some.",
    "Perhaps power was still on: a unit that is awake spoils the reading.",
]
TOUCH = ["In a plug, a chafed harness, or a burnt unit: unplug one by one and watch the reading."]

LEVELS = {  # state -> lowest and highest V of CAN_H, CAN_L and their difference
    "recessive": ((2.0, 3.0), (2.0, 3.0), (-0.12, 0.05)),
    "dominant": ((2.75, 4.5), (0.5, 2.25), (1.5, 3.0)),
    # A slow meter shows the mean of both states: CAN_H between 2.5 and 3.5 V, CAN_L as far below.
    "traffic": ((2.0, 4.5), (0.5, 3.0), (0.05, 3.0)),
}
MIDDLE = (2.25, 2.75)  # V; half the sum of both while a driver works, 2.5 V within 10 %
SYMMETRIC = ("dominant", "traffic")
NOTHING = 0.5  # V; less on both wires is no level at all; our estimate
SUPPLIED = 5.5  # V; more comes from no transceiver; our estimate
NOISE = 0.1  # V below zero that a meter may show on a quiet line; our estimate
ROUNDING = 1e-9  # V; a limit itself is inside
HIGHEST = 60.0  # V; more is on no truck of 12 or 24 V


class Terminators(TypedDict):
    """`count` is -1 when the reading is no whole number of terminators; `also` is what else it could be."""

    count: int
    sentence: str
    also: "list[str]"


class Levels(TypedDict):
    """`outcome` is "ok" or "wrong"; difference and middle in V."""

    outcome: str
    difference: float
    middle: float
    sentence: str


def terminators(ohms: float) -> Terminators:
    """What Ω across CAN_H and CAN_L mean, power off and battery disconnected: about 120 / count.

    Raises:
        ValueError: a negative reading.
    """
    if ohms < 0:
        raise ValueError("A resistance is not negative; zero the meter's leads and switch the power off.")
    for low, high, count in BANDS:
        if low <= ohms <= high:
            words = "as it should be" if count == 2 else "one is missing" if count == 1 else "too many"
            plural = "terminator" if count == 1 else "terminators"
            sentence = f"{ohms:g} Ω is {count} {plural}: {words}."
            return {"count": count, "sentence": sentence, "also": ALSO[min(count, 3)]}
    if ohms < SHORT:
        return {"count": -1, "sentence": f"{ohms:g} Ω: CAN_H and CAN_L touch each other.", "also": TOUCH}
    if ohms < BANDS[-1][0]:
        sentence = f"{ohms:g} Ω: five terminators or more, or wires that touch through dirt or water."
        return {"count": -1, "sentence": sentence, "also": ALSO[3] + TOUCH}
    if ohms > OPEN:
        sentence = "No terminator is seen from here: the bus is open between you and them."
        return {"count": 0, "sentence": sentence, "also": ALSO[0]}
    sentence = f"{ohms:g} Ω is no whole number of terminators: a bad one, or corrosion on the way."
    return {"count": -1, "sentence": sentence, "also": BAD + (ALSO[1] if ohms > BANDS[0][1] else [])}


def levels(high: float, low: float, state: str, meter: float = 0.05) -> Levels:
    """Whether V of CAN_H and of CAN_L, both against ground, are those of a bus in this state.

    `state` is "recessive" (nobody sends), "dominant" (the top of a bit on an oscilloscope) or "traffic" (what
    a meter shows while units talk). `meter` is added to each limit for the instrument.

    Raises:
        ValueError: another state, or volts that no truck has.
    """
    if state not in LEVELS:
        raise ValueError("Choose whether the bus is quiet, talking, or dominant.")
    for name, volts in (("CAN_H", high), ("CAN_L", low)):
        if not -NOISE <= volts <= HIGHEST:
            raise ValueError(f"{volts:g} V on {name} cannot be: black probe to ground, range DC volts.")
    fault = _fault(high, low, state, meter + ROUNDING)
    found = f"CAN_H {high:.2f} V, CAN_L {low:.2f} V: "
    return {
        "outcome": "wrong" if fault else "ok",
        "difference": high - low,
        "middle": (high + low) / 2,
        "sentence": found + (fault or "as a sound bus has them in this state."),
    }


def _fault(high: float, low: float, state: str, meter: float) -> str:
    """What is wrong, "" if nothing; the plain faults first."""
    if max(high, low) > SUPPLIED:
        return "more than a bus has; a wire of it touches a supply."
    if max(high, low) < NOTHING:
        return "no level at all; the units have no power or sleep, or a wire of the bus touches ground."
    if high - low < LEVELS["recessive"][2][0] - meter:
        return "CAN_H is below CAN_L; the two are swapped, at the probes or in a plug."
    if state != "recessive" and high - low < meter:
        return "no difference; nobody sends, or the two wires touch each other."
    for name, volts, (least, most) in zip(
        ("CAN_H", "CAN_L", "The difference"), (high, low, high - low), LEVELS[state]
    ):
        if volts < least - meter or volts > most + meter:
            side = "below" if volts < least else "above"
            return f"{name} is {side} the {least:g} to {most:g} V of this state."
    if state in SYMMETRIC and not MIDDLE[0] - meter <= (high + low) / 2 <= MIDDLE[1] + meter:
        return "not even about 2.5 V; one wire is broken or touches something, or a ground is off."
    return ""
