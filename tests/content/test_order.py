"""What a master would check first, for evidence as it comes in.

The cases are common practice of the trade, no source. Questions are free and may come before all of them.
Of the checks that take minutes, one of those named must be among the first; nothing dear may lead.
"""

import pytest

from pwa.engine.evidence import advice
from tests.helpers.trade import CONTENT

MODEL = CONTENT["model"]
CODES = [item["key"] for item in CONTENT["findings"] if item["way"] == "codes"]
DEAR = 30  # minutes above which nothing leads
ELECTRIC, PNEUMATIC, HYDRAULIC = ({"drive": drive} for drive in ("electric", "pneumatic", "hydraulic"))


def read(*active):
    """All codes are read, and these are there."""
    return {key: "yes" if key.removeprefix("code-") in active else "no" for key in CODES}


def off(*openings, **known):
    """The truck with these off; the rest of the job is as usual."""
    return {"drive": "electric", **known, "opened": list(openings)}


# Evidence, the truck, checks of which one must be there, among how many that take minutes.
CASES = {
    "nothing known, electric": ({}, ELECTRIC, {"scan"}, 1),
    "nothing known, pneumatic": ({}, PNEUMATIC, {"scan"}, 1),
    "nothing known, hydraulic": ({}, HYDRAULIC, {"scan"}, 1),
    "the unit is silent": (read("network"), ELECTRIC, {"who-answers", "fuse-and-relay", "supply-drop"}, 1),
    "only the unit is silent": (
        {**read("network"), "who-answers": "one"}, ELECTRIC, {"fuse-and-relay", "supply-drop"}, 1,
    ),
    "its circuit": (read("circuit"), ELECTRIC, {"moves-with-harness", "water-in-plug", "harness-look"}, 2),
    "its circuit, over bumps": (
        {**read("circuit"), "worse-on-bumps": "yes"}, ELECTRIC, {"moves-with-harness", "harness-look"}, 4,
    ),
    "it reports itself": (read("device"), ELECTRIC, {"actuator-off-turbo", "learn-run"}, 3),
    "it reports itself, rod off": (read("device"), off("hood", "rod"), {"actuator-off-turbo"}, 1),
    "not responding, actuator off": (
        read("mechanical"), off("hood", "rod", "actuator"), {"actuator-off-turbo"}, 3,
    ),
    "not responding, rod off": (
        read("mechanical"), off("hood", "rod"), {"hand-sweep", "actuator-off-turbo", "rod-off-free"}, 1,
    ),
    "not responding, electric": (
        read("mechanical"), ELECTRIC, {"lever-coupled", "linkage-look", "hand-sweep"}, 3,
    ),
    "not responding, pneumatic": (read("mechanical"), PNEUMATIC, {"air-at-actuator"}, 1),
    "not responding, hydraulic": (read("mechanical"), HYDRAULIC, {"oil-at-actuator"}, 3),
    "end stops after work": (
        {**read("calibration"), "since-work": "yes"}, ELECTRIC,
        {"rod-length", "learn-run", "parts-match", "clock-marks"}, 2,
    ),
    "sensors on one feed": (read("reference"), ELECTRIC, {"reference-voltage"}, 2),
    "low voltage": (read("supply"), ELECTRIC, {"low-battery", "battery-terminals", "charging-voltage"}, 1),
    "underboost": (read("boost-low"), ELECTRIC, {"boost-leak-heard", "filter-restricted"}, 2),
    "underboost with a whistle": (
        {**read("boost-low"), "noise": "whistle"}, ELECTRIC,
        {"boost-leak-heard", "clamps-since", "soot-tracks"}, 1,
    ),
    "the boost sensor": (read("boost-sensor"), ELECTRIC, {"boost-reads-wrong"}, 1),
    "exhaust pressure": (read("exhaust"), ELECTRIC, {"exhaust-reads-wrong"}, 2),
    "the filter": (read("soot"), ELECTRIC, {"soot-load", "back-pressure-reading"}, 2),
    "power held back": (
        {**read("derate"), "message-shown": "yes"}, ELECTRIC,
        {"reason-read", "boost-asked", "rested-temperatures"}, 3,
    ),
    "the EGR": (read("egr"), ELECTRIC, {"egr-moves", "egr-flow-zero"}, 1),
    "coolant that goes missing": (
        {**read("egr"), "coolant-loss": "yes"}, ELECTRIC,
        {"egr-moves", "coolant-pressure", "white-crust", "oil-milky"}, 3,
    ),
    "fuel": (read("fuel"), ELECTRIC, {"fuel-pressure", "injector-balance"}, 2),
    "a grinding turbo": (
        {**read("boost-low"), "noise": "grinding"}, ELECTRIC, {"shaft-play", "blade-damage"}, 2,
    ),
    "blue smoke": (
        {**read(), "blue-smoke": "yes"}, ELECTRIC,
        {"oil-in-pipes", "crankcase-reading", "shaft-play", "drain-clear", "outlet-oil"}, 3,
    ),
    "the turbine housing is off": (
        read("mechanical"), off("hood", "rod", "outlet", "turbine-housing"),
        {"debris-look", "vanes-look", "vanes-soot-open", "rust-look", "ring-look"}, 2,
    ),
}  # fmt: skip


def taking_minutes(evidence, known):
    found = advice.isolate(MODEL, evidence, known)
    return [check for check in found["checks"] if check["minutes"] > 0]


@pytest.mark.parametrize("name", CASES)
def test_a_check_comes_as_early_as_a_master_would_make_it(name):
    evidence, known, wanted, among = CASES[name]
    first = [check["finding"] for check in taking_minutes(evidence, known)]
    assert wanted & set(first[:among]), first[:6]


@pytest.mark.parametrize("name", CASES)
def test_nothing_dear_leads_and_nobody_listens_first(name):
    evidence, known, _, _ = CASES[name]
    first = taking_minutes(evidence, known)[0]
    assert first["minutes"] <= DEAR
    assert first["finding"] != "actuator-sounds"
