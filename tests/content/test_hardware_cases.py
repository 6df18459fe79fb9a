"""Cases of the hardware around the vanes, and of complaints other than lost power.

They are ours, from common practice of the trade, no source: who is suspected most, who must not be blamed,
and a repair that belongs in the plan ("" where more has to be known first).
"""

from pathlib import Path

import pytest

from pwa.build.content import reader
from pwa.build.model import compiler
from pwa.engine.evidence import advice
from pwa.engine.evidence.case import NOT_KNOWN

CONTENT = reader.load(Path(__file__).parent.parent.parent / "content")
CODES = [item.key for item in CONTENT.findings if item.way == "codes"]
AIR, OIL, MOTOR, UNKNOWN = ({"drive": drive} for drive in ("pneumatic", "hydraulic", "electric", NOT_KNOWN))
BLAMED = 0.15  # more than this blames a good part


@pytest.fixture(scope="module")
def compiled():
    return compiler.compile(CONTENT)


def codes(*active):
    """Every code read: these are there, and no others."""
    return {key: "yes" if key.removeprefix("code-") in active else "no" for key in CODES}


def job(*complaints):
    return {"drive": "electric", "complaints": list(complaints)}


# Evidence, what is known of the job, suspects of which one must be among the first two, good parts, a repair.
CASES = {
    "torn diaphragm": (
        {**codes("mechanical"), "air-at-actuator": "yes", "solenoid-follows": "yes",
         "canister-travels": "still", "canister-holds": "drops"},
        AIR, {"canister-leaks"}, {"air-supply-fault", "solenoid-fault", "vanes-sooted"}, "replace-actuator",
    ),
    "chafed air line": (
        {**codes("mechanical"), "air-at-actuator": "no", "dash-air": "yes", "air-line-holds": "leaks"},
        AIR, {"air-line-leaks"}, {"canister-leaks", "vanes-sooted"}, "actuator-supply",
    ),
    "iced in frost": (
        {**codes("mechanical"), "only-in-frost": "yes", "tank-water": "wet", "air-at-actuator": "no"},
        AIR, {"air-line-iced", "wet-air"}, {"canister-leaks", "vanes-sooted"}, "",
    ),
    "low air on the dash": (
        {**codes("mechanical"), "dash-air": "no", "air-at-actuator": "no"},
        AIR, {"air-pressure-low"}, {"canister-leaks", "vanes-sooted"}, "air-system",
    ),
    "spring broken": (
        {**codes("mechanical"), "air-at-actuator": "yes", "rod-returns": "no", "canister-travels": "part",
         "canister-holds": "holds"},
        AIR, {"canister-rod-rusted", "canister-spring"}, {"canister-leaks"}, "replace-actuator",
    ),
    "scored servo": (
        {**codes("mechanical"), "oil-at-actuator": "yes", "valve-follows": "yes", "servo-by-hand": "rough"},
        OIL, {"servo-sticks"}, {"control-valve", "oil-supply-to-actuator"}, "replace-actuator",
    ),
    "open oil valve coil": (
        {**codes("circuit"), "valve-coil": "wrong", "valve-follows": "no", "oil-at-actuator": "yes"},
        OIL, {"control-valve-coil"}, {"servo-sticks", "vanes-sooted"}, "actuator-supply",
    ),
    "servo gives way under load": (
        {**codes("mechanical"), "holds-under-load": "yes", "oil-at-actuator": "yes",
         "valve-follows": "yes"},
        OIL, {"servo-seal"}, {"control-valve"}, "replace-actuator",
    ),
    "worn output gear": (
        {**codes("mechanical"), "coupling": "gear", "gear-teeth": "worn", "gear-sweep": "smooth"},
        MOTOR, {"gear-worn"}, {"lever-linkage", "vanes-sooted"}, "",
    ),
    "tooth off": (
        {**codes("calibration"), "coupling": "gear", "since-work": "yes", "gear-marks": "off"},
        MOTOR, {"gear-misset"}, {"linkage-misadjusted"}, "refit",
    ),
    "burnt for lack of coolant": (
        {**codes("device"), "worse-when-hot": "yes", "actuator-cooled": "yes", "actuator-hot": "yes",
         "actuator-flow": "no", "supply-drop": "ok", "ground-drop": "ok"},
        MOTOR, {"actuator-coolant", "actuator-electronics"}, {"vanes-sooted"}, "actuator-cooling",
    ),
    "coolant along the wires": (
        {**codes("circuit"), "coolant-in-plug": "yes", "actuator-wet": "yes"},
        MOTOR, {"actuator-water", "coolant-wicks"}, {"vanes-sooted"}, "",
    ),
    "lever turns on its shaft": (
        {**codes("boost-low"), "position-feedback": "follows", "lever-moves-vanes": "stay",
         "lever-on-shaft": "slips"},
        MOTOR, {"lever-slips"}, {"actuator-motor-worn", "vanes-sooted"}, "replace-cartridge",
    ),
    "sliding ring jams": (
        {**codes("mechanical"), "ring-or-vanes": "ring", "ring-slides": "sticks"},
        MOTOR, {"nozzle-ring-sticks"}, {"vanes-bent"}, "",
    ),
    "bypass open": (
        {**codes("boost-low"), "turbos-count": "two", "low-speed-only": "yes",
         "bypass-moves": "stuck-open", "hand-sweep": "smooth"},
        MOTOR, {"bypass-open"}, {"charge-leak", "vanes-sooted"}, "second-stage",
    ),
    "hose between the stages": (
        {**codes("boost-low"), "turbos-count": "two", "noise": "whistle", "interstage-holds": "leaks",
         "leak-down": "ok"},
        MOTOR, {"interstage-leak"}, {"vanes-sooted"}, "air-path",
    ),
    "wastegate shut, too much boost": (
        {**codes("boost-high"), "wastegate-moves": "shut", "boost-over-asked": "yes"},
        job("overboost"), {"wastegate-shut"}, {"charge-leak", "vanes-sooted"}, "second-stage",
    ),
    "too much boost, vanes stick": (
        {**codes("mechanical", "boost-high"), "hand-sweep": "rough", "soot-seen": "yes",
         "wastegate-moves": "not-fitted", "turbos-count": "one"},
        job("overboost"), {"vanes-sooted"}, {"bypass-shut", "charge-leak"}, "clean",
    ),
    "speed sensor": (
        {**codes("derate", "boost"), "speed-plausible": "wrong", "boost-asked": "less",
         "hand-sweep": "smooth"},
        MOTOR, {"turbo-speed-sensor"}, {"charge-leak", "vanes-sooted"}, "engine-sensor",
    ),
    "intake throttle shut": (
        {**codes("boost-low", "air"), "throttle-follows": "shut", "black-smoke": "yes",
         "filter-restricted": "no"},
        MOTOR, {"throttle-shut"}, {"injector-overfuelling", "vanes-sooted"}, "intake-throttle",
    ),
    "hot climb, fan clutch": (
        {**codes("coolant", "derate"), "gauge-hot": "yes", "fan-heard": "no", "fan-commanded": "no",
         "coolant-level": "yes"},
        job("power-lost", "hot-derate"), {"fan-clutch"}, {"charge-leak", "vanes-sooted", "water-pump"},
         "cooling-system",
    ),
    "hot climb, dirt between the packs": (
        {**codes(), "gauge-hot": "yes", "fan-heard": "yes", "radiator-outside": "yes",
         "radiator-spots": "yes"},
        job("hot-derate"), {"radiator-blocked"}, {"fan-clutch", "vanes-sooted"}, "cooling-system",
    ),
    "gas in the coolant": (
        {**codes("coolant"), "gas-test": "yes", "hoses-hard": "yes", "coolant-level": "no"},
        job("hot-derate"), {"gas-in-coolant"}, {"fan-clutch"}, "head-gasket",
    ),
    "hot derate alone": (
        {},
        job("hot-derate"), {"coolant-low", "cooler-fouled", "fan-clutch", "radiator-blocked"},
         {"actuator-motor-worn", "charge-leak", "vanes-sooted"}, "",
    ),
    "hose loose since work": (
        {**codes("boost-low"), "since-pipes": "yes", "clamps-since": "loose", "noise": "whistle"},
        MOTOR, {"hose-left-loose"}, {"shaft-bearing", "vanes-sooted"}, "refit",
    ),
    "plug open since work": (
        {**codes("circuit"), "since-wiring": "yes", "plugs-latched": "no", "actuator-sounds": "silent"},
        MOTOR, {"plug-left-open"}, {"actuator-electronics", "vanes-sooted"}, "refit",
    ),
    "gasket left out": (
        {**codes("boost-low"), "since-joint": "yes", "joint-soot": "yes", "soot-tracks": "yes"},
        MOTOR, {"gasket-left-out"}, {"vanes-sooted"}, "exhaust-joint",
    ),
    "sealant kills the next turbo": (
        {**codes("boost-low"), "since-oil-lines": "yes", "sealant-seen": "yes", "shaft-play": "yes",
         "second-turbo": "yes"},
        MOTOR, {"oil-feed-restricted", "sealant-in-oil", "shaft-bearing"}, {"vanes-sooted"}, "upstream-oil",
    ),
    "engine brake alone": (
        {},
        job("engine-brake-weak"), {"brake-conditions", "brake-solenoid", "brake-switch"},
         {"boost-sensor-fouled", "charge-leak", "vanes-sooted"}, "",
    ),
    "brake stalk": (
        {**codes(), "brake-asked": "no", "power-lost": "no"},
        job("engine-brake-weak"), {"brake-switch"}, {"vanes-sooted"}, "engine-brake",
    ),
    "exhaust flap": (
        {**codes(), "brake-kind": "flap", "flap-shuts": "no"},
        job("engine-brake-weak"), {"exhaust-flap-open"}, {"brake-solenoid"}, "engine-brake",
    ),
    "brake and power weak: vanes": (
        {**codes("mechanical"), "hand-sweep": "stops-short", "soot-seen": "yes"},
        job("power-lost", "engine-brake-weak"), {"vanes-sooted"}, {"brake-switch"}, "clean",
    ),
    "reader at fault": (
        {"who-answers": "none", "starts-runs": "yes", "plug-power": "yes", "other-reader-works": "no"},
        job("no-communication"), {"reader-at-fault"}, {"actuator-electronics", "ecm-unpowered",
         "vanes-sooted"}, "other-reader",
    ),
    "diagnostic plug dead": (
        {"who-answers": "none", "plug-power": "no"},
        job("no-communication"), {"diagnostic-plug"}, {"actuator-electronics"}, "repair-wiring",
    ),
    "only the actuator is silent": (
        {"who-answers": "one", "fuse-and-relay": "bad"},
        job("no-communication"), {"supply-fault"}, {"diagnostic-plug", "reader-at-fault"}, "repair-wiring",
    ),
    "added device jams the bus": (
        {**codes("network"), "who-answers": "several", "added-device": "yes", "unplugged-cures": "yes"},
        job("no-communication"), {"bus-jammed"}, {"actuator-electronics"}, "other-module",
    ),
    "type not known, hose split": (
        {**codes("boost-low"), "noise": "whistle", "boost-leak-heard": "yes"},
        UNKNOWN, {"charge-leak"}, {"air-supply-fault", "control-valve"}, "air-path",
    ),
    "type not known, line leaks": (
        {**codes("mechanical"), "air-at-actuator": "no", "air-line-holds": "leaks"},
        UNKNOWN, {"air-line-leaks"}, {"actuator-electronics", "control-valve"}, "actuator-supply",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_the_model_says_what_a_technician_would(compiled, name):
    evidence, known, leading, good, repair = CASES[name]
    found = advice.isolate(compiled, evidence, known)
    assert found["uncounted"] == []
    assert found["conflict"] == ""
    assert {item["cause"] for item in found["suspects"][:2]} & leading
    assert {item["cause"] for item in found["suspects"] if item["p"] > BLAMED} & good == set()
    if repair:
        assert repair in found["plan"]["repairs"]


OWN = {
    "engine-brake-weak": "brake-switch",
    "hot-derate": "fan-clutch",
    "no-communication": "diagnostic-plug",
    "overboost": "wastegate-shut",
}


@pytest.mark.parametrize("complaint", OWN)
def test_a_complaint_of_its_own_raises_what_is_behind_it(compiled, complaint):
    cause = OWN[complaint]
    alone = advice.isolate(compiled, {}, job(complaint))["chances"][cause]
    assert alone > 5 * advice.isolate(compiled, {}, job("power-lost"))["chances"][cause]


@pytest.mark.parametrize("part", [item.key for item in CONTENT.parts])
def test_what_a_truck_does_not_have_is_neither_suspected_nor_asked_for(compiled, part):
    causes = [item for item in CONTENT.causes if item.part == part]
    said = next(item for item in CONTENT.findings for lacking in item.lacks.values() if part in lacking)
    outcome = next(key for key, lacking in said.lacks.items() if part in lacking)
    drive = said.drives[0]
    found = advice.isolate(compiled, {said.key: outcome}, {"drive": drive})
    assert found["uncounted"] == []
    assert all(found["chances"][cause.key] == 0 for cause in causes)
    offered = {check["finding"] for check in found["checks"] + found["later"]}
    assert not offered & {item.key for item in CONTENT.findings if item.part == part}


def test_every_part_can_be_said_to_be_missing():
    said = {part for item in CONTENT.findings for lacking in item.lacks.values() for part in lacking}
    assert said == {item.key for item in CONTENT.parts}
