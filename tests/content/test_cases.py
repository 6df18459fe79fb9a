"""Cases as a technician would tell them, and what the model must say of each.

The cases are ours, from common practice of the trade, no source. What is asked of each is coarse on purpose:
who is suspected most, which standing leads, and a repair that belongs in the plan.
"""

from pathlib import Path

import pytest

from pwa.build.content import reader
from pwa.build.model import compiler
from pwa.engine.evidence import advice

CONTENT = Path(__file__).parent.parent.parent / "content"
CODES = (
    "boost-low", "calibration", "circuit", "device", "supply", "reference", "egr", "mechanical", "network",
    "boost-sensor", "soot", "fuel",
)  # fmt: skip


@pytest.fixture(scope="module")
def compiled():
    return compiler.compile(reader.load(CONTENT))


def codes(*active):
    return {f"code-{name}": "yes" if name in active else "no" for name in CODES}


# Evidence, drive, suspects of which one must be among the first two, leading standing ("" if open), a repair.
CASES = {
    "chafed harness": (
        {**codes("circuit"), "worse-on-bumps": "yes", "moves-with-harness": "yes", "harness-look": "yes"},
        "electric", {"harness-fault"}, "control", "repair-wiring",
    ),
    "green plug": (
        {**codes("circuit"), "water-in-plug": "yes", "washed-or-waded": "yes"},
        "electric", {"connector-fault"}, "control", "repair-wiring",
    ),
    "blown fuse": (
        {**codes("circuit"), "fuse-and-relay": "bad", "supply-drop": "high", "actuator-sounds": "silent"},
        "electric", {"supply-fault"}, "control", "repair-wiring",
    ),
    "rusty ground": (
        {**codes("circuit"), "ground-drop": "high", "ground-point": "bad"},
        "electric", {"ground-fault"}, "control", "repair-wiring",
    ),
    "neighbour on the 5 V": (
        {**codes("circuit", "reference", "boost-sensor"), "reference-voltage": "low"},
        "electric", {"reference-pulled-down"}, "control", "repair-wiring",
    ),
    "worn position sensor": (
        {**codes("circuit"), "hand-sweep": "jumps", "reference-voltage": "ok", "moves-with-harness": "no"},
        "electric", {"position-sensor-worn"}, "control", "replace-actuator",
    ),
    "missing terminator": (
        {**codes("network"), "bus-resistance": "one-twenty", "bus-levels": "ok"},
        "electric", {"bus-terminator", "bus-fault"}, "control", "repair-wiring",
    ),
    "dying battery": (
        {**codes("supply"), "low-battery": "yes", "charging-voltage": "low", "battery-terminals": "bad"},
        "electric", {"low-system-voltage"}, "control", "power-supply",
    ),
    "soot from idling": (
        {**codes("mechanical"), "idle-share": "yes", "hand-sweep": "rough", "soot-seen": "yes",
         "actuator-off-turbo": "yes"},
        "electric", {"vanes-sooted"}, "mechanism", "clean",
    ),
    "coolant on the vanes": (
        {**codes("mechanical", "egr"), "coolant-loss": "yes", "white-crust": "yes",
         "hand-sweep": "stops-short", "soot-seen": "yes"},
        "electric", {"vanes-sooted", "egr-cooler-leak"}, "", "egr-cooler",
    ),
    "sticking vanes that wore the motor": (
        {**codes("mechanical", "device"), "hand-sweep": "stops-short", "actuator-off-turbo": "no",
         "supply-drop": "ok", "ground-drop": "ok"},
        "electric", {"actuator-motor-worn", "vanes-sooted"}, "both", "replace-actuator",
    ),
    "turned housing": (
        {**codes("mechanical", "calibration"), "since-work": "yes", "clock-marks": "turned"},
        "electric", {"clocked-wrong"}, "", "clean",
    ),
    "rod set wrongly": (
        {**codes("calibration"), "since-work": "yes", "rod-length": "off", "hand-sweep": "smooth"},
        "electric", {"linkage-misadjusted"}, "mechanism", "free-linkage",
    ),
    "only not calibrated": (
        {**codes("calibration"), "since-work": "yes", "rod-length": "set", "hand-sweep": "smooth",
         "actuator-off-turbo": "yes", "parts-match": "yes"},
        "electric", {"not-calibrated"}, "control", "calibrate",
    ),
    "stood all winter": (
        {**codes("mechanical"), "stood-long": "yes", "hand-sweep": "stops-short"},
        "electric", {"rust-seized"}, "mechanism", "clean",
    ),
    "split hose": (
        {**codes("boost-low"), "noise": "whistle", "boost-leak-heard": "yes", "hand-sweep": "smooth"},
        "electric", {"charge-leak"}, "not-vgt", "air-path",
    ),
    "full particulate filter": (
        {**codes("soot", "boost-low"), "back-pressure-reading": "high"},
        "electric", {"aftertreatment-blocked"}, "not-vgt", "aftertreatment",
    ),
    "struck wheel": (
        {**codes("boost-low"), "blade-damage": "yes", "noise": "grinding"},
        "electric", {"compressor-damaged", "foreign-object"}, "mechanism", "replace-cartridge",
    ),
    "starved bearings": (
        {**codes("boost-low"), "shaft-play": "yes", "feed-clear": "no", "noise": "grinding"},
        "electric", {"shaft-bearing", "oil-feed-restricted"}, "mechanism", "upstream-oil",
    ),
    "no fuel": (
        {**codes("fuel"), "fuel-pressure": "low", "hand-sweep": "smooth"},
        "electric", {"fuel-supply-weak"}, "not-vgt", "upstream-fuel",
    ),
    "held back": (
        {**codes(), "message-shown": "yes", "boost-asked": "less"},
        "electric", {"power-held-back"}, "not-vgt", "upstream-soot",
    ),
    "no air at the actuator": (
        {**codes("mechanical"), "air-at-actuator": "no", "solenoid-follows": "no"},
        "pneumatic", {"air-supply-fault"}, "control", "actuator-supply",
    ),
    "sticky oil valve": (
        {**codes("mechanical"), "oil-at-actuator": "yes", "valve-follows": "no"},
        "hydraulic", {"control-valve"}, "control", "actuator-supply",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_the_model_says_what_a_technician_would(compiled, name):
    evidence, drive, leading, standing, repair = CASES[name]
    found = advice.isolate(compiled, evidence, {"drive": drive})
    assert found["uncounted"] == []
    assert {item["cause"] for item in found["suspects"][:2]} & leading
    if standing:
        assert max(found["standing"], key=found["standing"].get) == standing
    assert repair in found["plan"]["repairs"]


def test_every_fault_can_be_told_from_the_others(compiled):
    """Of two faults that the same repairs cure, or not, no two look the same in every check."""
    findings = [item for item in compiled["variables"] if item["kind"] == "finding"]
    loaded = reader.load(CONTENT)
    looks = {}
    for cause in loaded.causes:
        if cause.system != "effect":
            effects = {
                item.key: item.because_of[cause.key] for item in loaded.causes if cause.key in item.because_of
            }
            shows = {
                item["name"]: item["shown_by"][cause.key]
                for item in findings
                if cause.key in item["shown_by"]
            }
            looks[cause.key] = (effects, shows, cause.drives, cause.put_right)
    for name, look in looks.items():
        assert look[0] or look[1], f"nothing shows {name}"
        assert [other for other in looks if looks[other] == look] == [name]
