"""Wire and harness: the drop a wire explains, the place where voltage is lost, the wiggle test.

Limits are common practice or our estimates unless the shop enters the maker's; formulas in `circuits`.
"""

from typing import TYPE_CHECKING

from pwa.engine.electrical import circuits
from pwa.engine.measures.declared import Calculation, choice, maybe, number, rows
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.electrical.circuits import Step
    from pwa.engine.measures.verdict import Detail, Values, Verdict

ZERO = 273.15  # K
WAYS = {"one": 1, "both": 2}  # how often the current runs the length
# The way of the current: key of the input, name of the probe point, what lies between it and the next point.
SUPPLY = (
    ("battery", "battery positive", "cable to the fuse"),
    ("fuse_in", "fuse, battery side", "fuse and holder"),
    ("fuse_out", "fuse, load side", "harness or relay"),
    ("plug", "plug, harness side", "connector"),
    ("pin", "actuator's supply pin", ""),
)
GROUND = (
    ("ground", "actuator's ground pin", "ground wire or its plug"),
    ("stud", "ground stud", "ground stud or its cable"),
    ("negative", "battery negative", ""),
)
JOINTS = ("fuse and holder", "connector")  # short: no wire in them that may drop more than a joint
HIGHEST = 32.0  # V; more no truck of 24 V has
LEAST = 0.01  # A; less drops nothing that a meter shows
QUIET = 0.01  # V; less is no drop at all on a meter; our estimate
BROKEN = 0.5  # of the battery's voltage lost in one step: open, or nearly; our estimate


def wire(values: "Values", limits: "Values") -> "Verdict":
    """V that a copper wire loses at a current, and how much of a measured drop it does not explain."""
    current, area = values["current"], _area(values)
    if current < LEAST:
        raise ValueError(f"A wire loses voltage only while current flows; {current:g} A are too few to tell.")
    if values["ways"] not in WAYS:
        raise ValueError("Choose whether the current runs the length once or there and back.")
    length = WAYS[values["ways"]] * values["length"]
    ohms = circuits.wire_resistance(area, length, values.get("temperature", ZERO + 20) - ZERO)
    least = circuits.drop(current, ohms)
    most = circuits.STRANDED * least
    if least > HIGHEST:
        raise ValueError(
            f"This wire would drop {least:.0f} V, more than a truck has: check size, length, current."
        )
    details = [
        detail("Resistance of ideal copper", 1e3 * ohms, "mΩ"),
        detail("Drop of ideal copper", least, "V"),
        detail("Most a sound flexible wire drops", most, "V"),
        detail("Cross-section", area, "mm²"),
    ]
    warnings = (
        [] if "temperature" in values else ["Taken at 20 °C; beside a hot engine wire has up to 40 % more."]
    )
    if "measured" not in values:
        sentence = f"At {current:g} A this wire drops {least:.2f} to {most:.2f} V."
        return verdict(least, "V", "", sentence, details, warnings)
    measured = values["measured"]
    if not 0 <= measured <= HIGHEST:
        raise ValueError(f"A drop is from 0 to {HIGHEST:g} V, not {measured:g} V: check probes and range.")
    excess = max(0.0, circuits.excess_resistance(measured, current, circuits.STRANDED * ohms))
    details.append(detail("More than the wire explains", 1e3 * excess, "mΩ"))
    if measured < least - circuits.NOISE:
        warnings.append("Less than the wire alone drops: check the current, the length and the size.")
    high = measured > most + limits["joint"] + circuits.ROUNDING
    sentence = f"{measured:g} V measured, {least:.2f} to {most:.2f} V explained by the wire: " + (
        f"{1e3 * excess:.0f} mΩ too many, in a joint, a terminal or broken strands."
        if high
        else "not more than a joint may add."
    )
    return verdict(measured, "V", "high" if high else "ok", sentence, details, warnings)


def located(values: "Values", limits: "Values") -> "Verdict":
    """Where along supply, fuse, harness, connector and ground most voltage is lost, all against negative."""
    battery = values["battery"]
    if battery <= 0:
        raise ValueError("The battery must show more than 0 V; check the meter and its probes first.")
    supply, ground = _steps(SUPPLY, values), _steps(GROUND, values)
    if not supply and not ground:
        raise ValueError("Type at least one more point beside the battery.")
    if "pin" in values and "ground" in values and values["ground"] > values["pin"] + circuits.NOISE:
        raise ValueError("The ground pin stands above the supply pin: the two are swapped.")
    steps = supply + ground
    worst = max(steps, key=lambda step: step["drop"])
    details = [_told(step) for step in steps]
    if "current" in values:
        details += [_resistance(step, values["current"]) for step in steps]
    high = False
    for name, path, limit in (("supply", supply, limits["supply"]), ("ground", ground, limits["ground"])):
        if path:
            lost = sum(step["drop"] for step in path)
            details.append(detail(f"Lost on the {name} side", lost, "V"))
            high = high or lost > limit + circuits.ROUNDING
    if "pin" in values:
        details.append(detail("Left for the actuator", values["pin"] - values.get("ground", 0.0), "V"))
    warnings = (
        [] if "pin" in values else ["The actuator's supply pin is missing: the last part is not judged."]
    )
    if worst["drop"] < QUIET:
        warnings.append("No drop anywhere: does current flow? Command the actuator or load the circuit.")
    for step in steps:
        if step["parts"] in JOINTS and step["drop"] > limits["joint"] + circuits.ROUNDING:
            high = True
            warnings.append(f"More than a joint may drop, {step['drop']:.2f} V: {step['parts']}.")
    sentence = _where(worst, battery, high)
    return verdict(worst["drop"], "V", "high" if high else "ok", sentence, details, warnings)


def wiggle(values: "Values", limits: "Values") -> "Verdict":
    """A held signal while plug and harness are moved: rows of place, smallest and largest V, dropouts."""
    steady, rows = values["steady"], values["rows"]
    if not rows:
        raise ValueError("Type at least one place that was moved.")
    moved: list[tuple[float, float, float]] = []  # V, place, dropouts
    for place, smallest, largest, dropouts in rows:
        if smallest > largest:
            raise ValueError(f"Place {place:g}: the smallest is above the largest: swap the two.")
        if dropouts < 0 or dropouts != int(dropouts):
            raise ValueError(f"Place {place:g}: dropouts are a whole number, 0 or more.")
        moved.append((max(0.0, steady - smallest, largest - steady), place, dropouts))
    away, where, _ = max(moved)
    lost = sum(row[2] for row in moved)
    details = [detail(f"Place {place:g} moves it by", volts, "V") for volts, place, _ in moved]
    details.append(detail("Dropouts, all places", lost, ""))
    warnings = ["The signal must be held: a command or a lever that moves looks like a bad wire."]
    if not lost and away <= limits["jump"] + circuits.ROUNDING:
        warnings.append(
            "A meter misses what is shorter than its reading: use minimum and maximum, or a scope."
        )
        places = "1 place" if len(rows) == 1 else f"{len(rows)} places"
        sentence = f"Moved at {places}, the signal holds within {away:.2f} V."
        return verdict(away, "V", "no", sentence, details, warnings)
    if lost:
        where = max(moved, key=lambda row: row[2])[1]
        seen = f"{lost:.0f} dropouts" if lost > 1 else "A dropout"
    else:
        seen = f"The signal moves by {away:.2f} V"
    sentence = f"{seen} while the harness was moved, most at place {where:g}: a wire, pin or crimp there."
    return verdict(away, "V", "yes", sentence, details, warnings)


def _area(values: "Values") -> float:
    """Cross-section in mm², typed as such or as a gauge."""
    if ("area" in values) == ("gauge" in values):
        raise ValueError("Type the wire's size either in mm² or as an American gauge (AWG).")
    if "area" in values:
        return float(1e6 * values["area"])
    gauge = values["gauge"]
    if gauge != int(gauge):
        raise ValueError("A gauge is a whole number; 0 stands for 1/0, -1 for 2/0, -3 for 4/0.")
    return circuits.awg_area(int(gauge))


def _steps(path: "tuple[tuple[str, str, str], ...]", values: "Values") -> "list[Step]":
    """Steps between the points of a path that were measured; what lies between joins where one was not."""
    points: list[tuple[str, float, str]] = []
    for key, name, behind in path:
        volts = 0.0 if key == "negative" else values.get(key)
        if volts is not None:
            if volts < -circuits.NOISE:
                raise ValueError(f"{volts:g} V at the {name} is below zero: the probes are swapped.")
            points.append((name, volts, behind))
        elif points and behind:
            name, volts, before = points[-1]
            points[-1] = name, volts, f"{before}, {behind}"
    return circuits.steps(points) if len(points) > 1 else []


def _told(step: "Step") -> "Detail":
    return detail(f"From {step['start']} to {step['end']}", step["drop"], "V")


def _resistance(step: "Step", current: float) -> "Detail":
    ohms = circuits.excess_resistance(step["drop"], current, 0.0)
    return detail(f"Resistance of: {step['parts']}", 1e3 * ohms, "mΩ")


def _where(worst: "Step", battery: float, high: bool) -> str:
    if worst["drop"] > BROKEN * battery:
        return f"{worst['drop']:.2f} V are lost in one step, open or nearly so: {worst['parts']}."
    if not high:
        return f"No step stands out; the largest is {worst['drop']:.2f} V: {worst['parts']}."
    return f"Most is lost here, {worst['drop']:.2f} V: {worst['parts']}."


PLACE = (("place", "number"), ("smallest", "voltage"), ("largest", "voltage"), ("dropouts", "number"))
POINTS = ("fuse_in", "fuse_out", "plug", "pin", "ground", "stud")
CALCULATIONS: "dict[str, Calculation]" = {
    "wire": Calculation(
        wire,
        (
            number("current", "current"),
            number("length", "length"),
            choice("ways", WAYS),
            maybe("area", "area"),
            maybe("gauge", "gauge"),
            maybe("temperature", "temperature"),
            maybe("measured", "voltage"),
        ),
        {"joint": "V"},
        ("ok", "high"),
    ),
    "located": Calculation(
        located,
        (number("battery", "voltage"), maybe("current", "current"))
        + tuple([maybe(key, "voltage") for key in POINTS]),
        {"supply": "V", "ground": "V", "joint": "V"},
        ("ok", "high"),
    ),
    "wiggle": Calculation(
        wiggle, (number("steady", "voltage"), rows("rows", *PLACE)), {"jump": "V"}, ("no", "yes")
    ),
}
