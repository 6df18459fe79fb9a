"""The state of the truck: what can be done in it, what it spoils, and the stop rules that stand in it."""

import json

import pytest

from pwa.build.build import CONTENT
from pwa.build.content import reader
from pwa.build.model import compiler
from pwa.engine.evidence.truck import RUNNING


@pytest.fixture
def advice(twin):
    return twin("pwa.engine.evidence.advice")


@pytest.fixture
def truck(twin):
    return twin("pwa.engine.evidence.truck")


@pytest.fixture(scope="module")
def compiled():
    return json.loads(json.dumps(compiler.compile(reader.load(CONTENT))))


@pytest.fixture(scope="module")
def findings(compiled):
    return {item["name"]: item for item in compiled["variables"] if item["kind"] == "finding"}


def offered(advice, compiled, answers, **known):
    found = advice.isolate(compiled, answers, {"drive": "electric", **known})
    scans = {scan["key"] for scan in compiled["scans"]}  # one check that reads all codes, from the cab
    return {check["finding"] for check in found["checks"]} - scans, found


def runs(findings, keys, least):
    return {key for key in keys if RUNNING.index(findings[key]["running"]) >= RUNNING.index(least)}


@pytest.mark.parametrize(
    ("opened", "least"),
    [
        (["turbine-housing"], "idle"),
        (["charge-pipe"], "idle"),
        (["intake"], "idle"),
        (["actuator"], "idle"),
        (["oil"], "idle"),
        (["coolant"], "idle"),
        (["battery"], "key on"),
        (["rod"], "load"),
        (["plug"], "load"),
        (["hood"], "road"),
    ],
)
def test_what_is_off_forbids_what_the_engine_must_not_do(advice, compiled, findings, opened, least):
    keys, _ = offered(advice, compiled, {}, opened=opened)
    assert keys
    assert not {key for key in runs(findings, keys, least) if findings[key]["way"] != "asked"}


def test_everything_closed_offers_load_and_road(advice, compiled, findings):
    keys, _ = offered(advice, compiled, {})
    assert {"boost-shortfall", "boost-asked"} <= runs(findings, keys, "load")


@pytest.mark.parametrize("opened", [["rod"], ["plug"], ["actuator"], ["turbine-housing"]])
def test_nothing_is_commanded_that_does_not_drive_the_vanes(advice, compiled, opened):
    keys, _ = offered(advice, compiled, {}, opened=opened)
    assert not keys & {"position-feedback", "learn-run", "actuator-current", "command-trace"}


def test_what_must_be_put_back_first_is_named_with_its_minutes(advice, compiled):
    known = {"opened": ["rod"], "heat": "cold"}
    _, found = offered(advice, compiled, {"code-mechanical": "yes"}, **known)
    later = {check["finding"]: check for check in found["later"]}
    check = later["command-trace"]
    rod = compiled["openings"]["rod"]
    assert f"{rod['name']}: put back ({rod['back']:g} min)" in check["needs"]
    assert check["closes"] == ["rod"]
    whole = next(
        item
        for item in advice.isolate(compiled, {"code-mechanical": "yes"}, {})["checks"]
        if item["finding"] == "command-trace"
    )
    assert check["minutes"] == whole["minutes"] + rod["back"]


def test_a_check_worth_its_putting_back_keeps_the_case_open(advice, compiled):
    """With the rod off and all else put off, the check that wants it back is still to come."""
    said, known = {"code-mechanical": "yes"}, {"opened": ["rod"], "heat": "cold"}
    now = [check["finding"] for check in advice.isolate(compiled, said, known)["checks"]]
    found = advice.isolate(compiled, said, {**known, "skipped": now})
    assert not [check for check in found["checks"] if check["saves"] > check["minutes"]]
    assert [check["closes"] for check in found["later"][:1]] == [["rod"]]
    assert found["enough"] is False


@pytest.mark.parametrize("outcome", ["follows", "short", "frozen", "out-of-band"])
def test_with_the_rod_off_the_position_says_nothing_of_the_vanes(advice, compiled, outcome):
    before = advice.isolate(compiled, {}, {})
    found = advice.isolate(compiled, {"position-feedback": {"outcome": outcome, "opened": ["rod"]}}, {})
    assert found["uncounted"] == ["position-feedback"]
    assert found["standing"] == before["standing"]
    plain = advice.isolate(compiled, {"position-feedback": outcome}, {"opened": ["rod"]})
    assert plain["uncounted"] == ["position-feedback"]
    shut = advice.isolate(
        compiled, {"position-feedback": {"outcome": outcome, "opened": []}}, {"opened": ["rod"]}
    )
    assert shut["uncounted"] == []


def test_an_opening_holds_what_had_to_be_off_before(truck, compiled):
    assert truck.opened_with(["turbine-housing"], compiled["openings"]) == [
        "hood",
        "outlet",
        "turbine-housing",
    ]
    off = truck.opened_with(["turbo"], compiled["openings"])
    assert {"hood", "intake", "charge-pipe", "oil-lines", "outlet"} <= set(off)
    assert truck.opened_with(["actuator"], compiled["openings"]) == ["hood", "rod", "actuator"]


def test_what_stands_in_the_way_is_put_back_too(truck, compiled, findings):
    """A lever is coupled again only once the actuator is back on the turbo."""
    opened = truck.opened_with(["actuator"], compiled["openings"])
    assert truck.to_close(findings["lever-coupled"], opened, compiled["openings"]) == ["rod", "actuator"]


def test_an_older_note_means_what_it_meant(advice, compiled):
    """It knows the turbine housing alone: what was assembled counts, and what lay behind the housing."""
    then = {
        "hand-sweep": {"outcome": "smooth", "state": "turbine housing off"},
        "vanes-look": {"outcome": "whole", "state": "turbine housing off"},
        "back-pressure-reading": {"outcome": "ok", "state": "turbine housing off"},
        "position-feedback": {"outcome": "follows", "state": "assembled"},
    }
    assert advice.isolate(compiled, then, {"state": "turbine housing off"})["uncounted"] == ["hand-sweep"]
    assert advice.isolate(compiled, {"vanes-look": {"outcome": "whole", "state": "assembled"}}, {})[
        "uncounted"
    ] == ["vanes-look"]


def test_the_roadside_offers_only_what_is_asked_seen_or_read_from_the_cab(advice, compiled, findings):
    keys, found = offered(advice, compiled, {}, place="roadside")
    for key in keys:
        item = findings[key]
        assert item["opens"] == []
        assert item["running"] in ("off", "key on")
        assert item["way"] != "commanded"
        assert set(item["tools"]) <= {"a code reader"}
    assert all(check["minutes"] <= 10 for check in found["checks"])
    codes = {key for key in keys if findings[key]["way"] == "codes"}
    assert 15 <= len(keys - codes) + 1 <= 35  # one scan answers all codes
    battery = {key for key, item in findings.items() if "battery" in item["opens"]}
    assert {"bus-resistance", "harness-resistance"} <= battery
    assert not battery & keys


def test_cutting_the_battery_counts_its_waiting_time(advice, compiled):
    checks = advice.isolate(compiled, {}, {})["checks"]
    check = next(item for item in checks if item["finding"] == "bus-resistance")
    assert check["opens"] == ["battery"]
    assert check["minutes"] >= 20


STOPS = [
    ("oil-milky", "yes", "do not start"),
    ("hard-crank", "yes", "do not start"),
    ("egr-cooler-holds", "drops", "do not start"),
    ("shaft-play", "yes", "do not start"),
    ("shaft-axial-play", "high", "do not start"),
    ("noise", "grinding", "do not start"),
    ("blade-damage", "yes", "do not start"),
    ("pieces-found", "yes", "do not start"),
    ("vanes-look", "damaged", "do not start"),
    ("turbine-look", "yes", "do not start"),
    ("oil-in-pipes", "pools", "do not start"),
    ("oil-thin", "yes", "do not start"),
    ("ran-away", "yes", "do not start"),
    ("fuel-leak", "yes", "do not start"),
    ("oil-lamp", "yes", "do not start"),
    ("oil-pressure-turbo", "low", "do not start"),
    ("exhaust-near", "yes", "do not drive"),
    ("outlet-oil", "yes", "do not drive"),
    ("high-voltage", "yes", "do not touch yet"),
]


@pytest.mark.parametrize(("finding", "outcome", "says"), STOPS)
def test_what_is_dangerous_stops_the_work(advice, compiled, findings, finding, outcome, says):
    keys, found = offered(advice, compiled, {finding: outcome})
    stop = found["stops"][0]
    assert stop["says"] == says
    assert stop["findings"] == [finding]
    assert stop["why"]
    assert stop["lifts"]
    if says == "do not touch yet":
        assert {findings[key]["way"] for key in keys} <= {"asked", "codes"}
    else:
        least = {"do not start": "idle", "do not drive": "load"}[says]
        assert not {key for key in runs(findings, keys, least) if findings[key]["way"] != "asked"}
    lifted = advice.isolate(compiled, {finding: outcome}, {"lifted": [stop["stop"]]})
    assert stop["stop"] not in [item["stop"] for item in lifted["stops"]]
    normal = findings[finding]["states"][0]
    assert advice.isolate(compiled, {finding: normal}, {})["stops"] == []


def test_an_answer_that_proves_nothing_stops_the_work_all_the_same(advice, compiled):
    seen = {"vanes-look": {"outcome": "damaged", "opened": []}}
    found = advice.isolate(compiled, seen, {})
    assert found["uncounted"] == ["vanes-look"]
    assert found["stops"][0]["says"] == "do not start"


def test_what_is_off_stands_as_a_rule_until_it_is_back(advice, compiled):
    found = advice.isolate(compiled, {}, {"opened": ["turbine-housing"], "lifted": ["open-exhaust"]})
    stop = next(item for item in found["stops"] if item["stop"] == "open-exhaust")
    assert stop["says"] == "do not start"
    assert stop["openings"] == ["outlet", "turbine-housing"]
    assert advice.isolate(compiled, {}, {})["stops"] == []


def test_the_gravest_rule_stands_first(advice, compiled):
    both = {"exhaust-near": "yes", "oil-milky": "yes", "high-voltage": "yes"}
    says = [stop["says"] for stop in advice.isolate(compiled, both, {})["stops"]]
    assert says == ["do not touch yet", "do not start", "do not drive"]
