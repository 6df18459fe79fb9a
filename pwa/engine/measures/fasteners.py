"""Fasteners: torque for a preload, a torque held against the bolt, angle, wrench with an extension, stages.

Estimates beside the maker's torque, never instead of it; formulas in `tightening`, `threads` and `fasteners`.
"""

from typing import TYPE_CHECKING

from pwa.engine.bolts import fasteners, threads, tightening
from pwa.engine.measures.declared import Calculation, choice, maybe, number
from pwa.engine.measures.verdict import detail, verdict
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict

# Nut factor K by what is on the thread: Shigley table 8-15; anti-seize from memory of the same table.
SURFACES = {"black": 0.30, "zinc": 0.20, "cadmium": 0.16, "oil": 0.18, "anti-seize": 0.12}
SLIPPERY = ("oil", "anti-seize")
MAKER = "The maker's torque goes first, and friction is known to a quarter at best."


def preload_torque(values: "Values", limits: "Values") -> "Verdict":
    """Torque for a share of the proof load, by the nut factor K."""
    diameter, pitch = _thread(values)
    proof = threads.proof_load(diameter, pitch, values["strength"])
    k, force = _factor(values, "surface"), _share(limits) * proof
    found = tightening.torque(k, diameter, force)
    area = threads.stress_area(diameter, pitch, threads.strength(values["strength"], diameter)["standard"])
    details = [
        detail("Stress area", area * 1e6, "mm²"),
        detail("Proof load", proof / 1e3, "kN"),
        detail("Preload", force / 1e3, "kN"),
        detail("Nut factor K", k, ""),
    ]
    sentence = (
        f"{as_text(found)} stretches it to {limits['share']:g} % of its proof load, {force / 1e3:.1f} kN."
    )
    return verdict(found, "N·m", "", sentence, details, [MAKER])


def friction_torque(values: "Values", limits: "Values") -> "Verdict":
    """Torque for a preload by the friction in the thread and under the head."""
    diameter, pitch = _thread(values)
    proof = threads.proof_load(diameter, pitch, values["strength"])
    force = values.get("preload", _share(limits) * proof)
    outer, hole = values["outer"], values["hole"]
    if not diameter <= hole < outer:
        raise ValueError("The hole is wider than the thread, and the bearing face wider than the hole.")
    thread, head = values["thread"], values["head"]
    found = tightening.torque_by_friction(force, diameter, pitch, thread, head, (outer + hole) / 2)
    yielding = threads.strength(values["strength"], diameter)["yielding"]
    most = tightening.most_preload(diameter, pitch, yielding, thread)
    warnings = [MAKER]
    if force > most:
        warnings.append(f"While tightening it bears {most / 1e3:.1f} kN at most, pull and twist together.")
    if force > proof:
        warnings.append(f"The preload is above the proof load of {proof / 1e3:.1f} kN.")
    details = [
        detail("Preload", force / 1e3, "kN"),
        detail("Proof load", proof / 1e3, "kN"),
        detail("Most while tightening, 90 % of yield", most / 1e3, "kN"),
        detail("As a nut factor K", found / (diameter * force), ""),
    ]
    sentence = f"{as_text(found)} gives {force / 1e3:.1f} kN of preload."
    return verdict(found, "N·m", "", sentence, details, warnings)


def torque_check(values: "Values", limits: "Values") -> "Verdict":
    """A torque against what the bolt itself bears, on the thread as it is now."""
    diameter, pitch = _thread(values)
    proof = threads.proof_load(diameter, pitch, values["strength"])
    k, scatter = _factor(values, "surface"), limits["scatter"] / 100
    if not 0 <= scatter < 1:
        raise ValueError("The scatter of the preload is from 0 to below 100 %.")
    force = tightening.preload(k, diameter, values["torque"])
    warnings = lubricated(values["torque"], values["meant"], values["surface"])
    details = [
        detail("Preload, likely", force / 1e3, "kN"),
        detail("At the most", force * (1 + scatter) / 1e3, "kN"),
        detail("Proof load", proof / 1e3, "kN"),
        detail("Likely share of it", 100 * force / proof, "%"),
        detail("Nut factor K", k, ""),
    ]
    said = f"{as_text(values['torque'])} likely stretches it to {100 * force / proof:.0f} % of its proof load"
    if force > proof:
        outcome, sentence = "high", said + ": too much for this bolt. Check unit, size, class and lubricant."
    else:
        outcome, sentence = "" if warnings else "ok", said + "."
        if force * (1 + scatter) > proof:
            warnings.append("With the usual scatter it may go beyond its proof load and stretch for good.")
    return verdict(100 * force / proof, "%", outcome, sentence, details, warnings + [MAKER])


def lubricated(torque: float, meant: str, surface: str) -> "list[str]":
    """A warning where a torque meant for one state of the thread meets another that is more slippery."""
    if surface not in SLIPPERY:
        return []
    what = "anti-seize" if surface == "anti-seize" else "oil"
    if meant not in SURFACES:
        return [
            f"Find out whether the value is for a thread with {what}: one for a dry thread pulls too hard."
        ]
    share = SURFACES[surface] / SURFACES[meant]
    if share >= 1:
        return []
    return [
        f"The value is not for a thread with {what}: the same torque pulls about {100 / share - 100:.0f} % "
        f"harder. Clean it, or ask the maker for the value with {what}; by K alone it would be "
        f"{as_text(torque * share)}."
    ]


def torque_angle(values: "Values", limits: "Values") -> "Verdict":
    """Preload after a snug torque and an angle, between a soft joint and a rigid one."""
    diameter, pitch = _thread(values)
    found = threads.strength(values["strength"], diameter)
    area = threads.stress_area(diameter, pitch, found["standard"])
    proof, k, grip = found["proof"] * area, _factor(values, "surface"), values["grip"]
    snug = tightening.preload(k, diameter, values["torque"])
    soft, angle = limits["soft"] / 100, values["angle"]
    least = snug + tightening.turned(angle, pitch, area, grip, soft)
    most = snug + tightening.turned(angle, pitch, area, grip, 1.0)
    details = [
        detail("Preload of the snug torque", snug / 1e3, "kN"),
        detail("After the angle at least", least / 1e3, "kN"),
        detail("at most, if it stays elastic", most / 1e3, "kN"),
        detail("Proof load", proof / 1e3, "kN"),
    ]
    warnings = [MAKER]
    if least > proof:
        sentence = "The angle takes this bolt beyond its proof load: it stretches for good."
        warnings.append("Only a bolt that the maker tightens so by design; it is used once.")
        return verdict(least / 1e3, "kN", "high", sentence, details, warnings)
    sentence = f"After {angle:g}° the preload is {least / 1e3:.1f} to {most / 1e3:.1f} kN"
    if most > proof:
        warnings.append("In a stiff joint it may go beyond its proof load and stretch for good.")
    return verdict(least / 1e3, "kN", "ok", sentence + ".", details, warnings)


def wrench(values: "Values", _limits: "Values") -> "Verdict":
    """What a wrench with an extension or crow-foot must be set to."""
    wanted, angle = values["torque"], values.get("angle", 0.0)
    if wanted <= 0:
        raise ValueError("A torque is above 0.")
    setting = fasteners.extension(wanted, values["wrench"], values["extension"], angle)
    details = [
        detail("At the fastener", wanted, "N·m"),
        detail("Set", setting, "N·m"),
        detail("The same", units.convert(setting, "N·m", "lb·ft"), "lb·ft"),
        detail("Without it the fastener would get", wanted * wanted / setting, "N·m"),
    ]
    warnings = [] if "angle" in values else ["The extension is taken as straight ahead, 0°."]
    return verdict(setting, "N·m", "", f"Set the wrench to {as_text(setting)}.", details, warnings)


def stages(values: "Values", limits: "Values") -> "Verdict":
    """The torques of a joint that is tightened in stages, all bolts to each before the next."""
    final, count = values["torque"], _count(values["stages"])
    steps = fasteners.stages(final, limits["first"] / 100, count)
    details = [detail(f"Stage {at + 1}", steps[at], "N·m") for at in range(count)]
    sentence = "All bolts in order to each of: " + ", then ".join([as_text(step) for step in steps])
    if "angle" in values:
        if not 0 < values["angle"] <= 720:
            raise ValueError("The angle is above 0° and at most two turns.")
        details.append(detail("Then further by", values["angle"], "°"))
        sentence += f", then {values['angle']:g}° further, marked with paint"
    warnings = ["Stages and angles of the maker go first; these are even steps."]
    return verdict(final, "N·m", "", sentence + ".", details, warnings)


def v_band(values: "Values", limits: "Values") -> "Verdict":
    """Steps of a V-band clamp: it settles between them, so the last torque is gone to twice."""
    final = values["torque"]
    first = fasteners.stages(final, limits["first"] / 100, 2)[0]
    sentence = (
        f"Flanges flush, clamp seated by hand: {as_text(first)}, tap round it, {as_text(final)}, "
        f"tap round it, {as_text(final)} again."
    )
    details = [detail("First", first, "N·m"), detail("Then, and once more after tapping", final, "N·m")]
    warnings = [
        "Tap only where the maker allows it, with a soft hammer. The torque, and whether the clamp is used "
        "again, come from the maker. If the nut turns at the last step, tap and go to the torque once more."
    ]
    return verdict(final, "N·m", "", sentence, details, warnings)


def as_text(torque: float) -> str:
    """A torque as both kinds of wrench show it."""
    return f"{units.show(torque, 'N·m')} ({units.show(torque, 'lb·ft')})"


def _thread(values: "Values") -> "tuple[float, float]":
    """m of diameter and pitch, however the pitch was typed."""
    if "pitch" in values:
        return values["diameter"], values["pitch"]
    if "per_inch" not in values:
        raise ValueError("Type the pitch, or the threads per inch.")
    return values["diameter"], threads.pitch(values["per_inch"])


def _factor(values: "Values", name: str) -> float:
    if "k" in values:
        return float(values["k"])
    if values[name] not in SURFACES:
        known = ", ".join(sorted(SURFACES))
        raise ValueError(f"There is no surface called {values[name]}. Choose one of {known}.")
    return SURFACES[values[name]]


def _share(limits: "Values") -> float:
    if not 0 < limits["share"] <= 100:
        raise ValueError("The share of the proof load is above 0 and at most 100 %.")
    return float(limits["share"]) / 100


def _count(number: float) -> int:
    if number != int(number):
        raise ValueError("The number of stages is a whole number.")
    return int(number)


THREAD = (
    number("diameter", "length"),
    maybe("pitch", "length"),
    maybe("per_inch", "threads"),
    choice("strength", tuple(threads.METRIC) + tuple(threads.GRADES)),
)
FACTOR = (choice("surface", SURFACES), maybe("k", "number"))
TORQUE = (number("torque", "torque"),)
CALCULATIONS: "dict[str, Calculation]" = {
    "preload_torque": Calculation(preload_torque, THREAD + FACTOR, {"share": "%"}, ()),
    "friction_torque": Calculation(
        friction_torque,
        THREAD
        + (
            number("thread", "number"),
            number("head", "number"),
            number("outer", "length"),
            number("hole", "length"),
            maybe("preload", "force"),
        ),
        {"share": "%"},
        (),
    ),
    "torque_check": Calculation(
        torque_check,
        THREAD + FACTOR + TORQUE + (choice("meant", tuple(SURFACES) + ("unknown",)),),
        {"scatter": "%"},
        ("ok", "high"),
    ),
    "torque_angle": Calculation(
        torque_angle,
        THREAD + FACTOR + TORQUE + (number("angle", "angle"), number("grip", "length")),
        {"soft": "%"},
        ("ok", "high"),
    ),
    "wrench": Calculation(
        wrench,
        TORQUE + (number("wrench", "length"), number("extension", "length"), maybe("angle", "angle")),
        {},
        (),
    ),
    "stages": Calculation(
        stages, TORQUE + (number("stages", "number"), maybe("angle", "angle")), {"first": "%"}, ()
    ),
    "v_band": Calculation(v_band, TORQUE, {"first": "%"}, ()),
}
