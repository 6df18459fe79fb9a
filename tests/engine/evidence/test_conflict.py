"""What is called a contradiction: never what one cause shows together, always what cannot well be true.

Common practice, no source, as a master technician reads answers against each other.
"""

import json
from collections import defaultdict
from itertools import combinations

import pytest

from pwa.build.build import CONTENT
from pwa.build.content import reader
from pwa.build.model import compiler
from pwa.engine.evidence import advice as cpython
from pwa.engine.evidence import case, conflict
from pwa.engine.evidence.network import Tree

OPEN, HOUSING = "turbine housing off", "turbine-housing"
SHOWN = 0.1  # how often a cause must show an outcome, itself or by its effects, to count as showing it
EQUIPMENT = {"turbos-count"}  # what the truck has says which causes it can have, and is no evidence itself
OFTENER = 2  # times as often as usual, likewise
# Answers that cannot well be true together, and the drive.
CONTRADICTIONS = {
    "draws no current, yet a full cycle": (
        "electric", {"actuator-off-turbo": "yes", "actuator-current": "none", "code-mechanical": "yes"},
    ),
    "draws no current, yet moves": ("electric", {"actuator-current": "none", "actuator-sounds": "full"}),
    "a blown fuse without a drop": ("electric", {"fuse-and-relay": "bad", "supply-drop": "ok"}),
    "a full filter without suction": (
        "electric", {"filter-restricted": "yes", "filter-restriction-reading": "ok"},
    ),
    "a stiff linkage that is free": ("electric", {"linkage-look": "yes", "rod-off-free": "yes"}),
    "a leak heard in tight pipes": (
        "electric", {"boost-leak-heard": "yes", "leak-down": "ok", "turbos-count": "one"},
    ),
    "play by hand, none by gauge": (
        "electric", {"shaft-play": "yes", "shaft-radial-play": "ok", "shaft-axial-play": "ok"},
    ),
    "soot that is a film once open": ("electric", {"soot-seen": "yes", "vanes-soot-open": "film"}),
    "follows, yet never gets there": ("electric", {"position-feedback": "follows", "command-trace": "short"}),
    "stuck by hand, yet learns and follows": (
        "electric", {"hand-sweep": "stops-short", "learn-run": "finishes", "position-feedback": "follows"},
    ),
    "a soot code without any soot": (
        "electric", {"code-soot": "yes", "soot-load": "no", "back-pressure-reading": "ok"},
    ),
    "low boost that no gauge and no sensor sees": (
        "electric", {"code-boost-low": "yes", "boost-shortfall": "ok", "boost-reads-wrong": "no"},
    ),
    "stuck, and nothing to be seen inside": (
        "electric",
        {"hand-sweep": "stops-short", "vanes-look": "whole", "vanes-soot-open": "film", "ring-look": "good",
         "plate-look": "flat", "rust-look": "no", "debris-look": "no", "clock-marks": "in-line"},
    ),
}  # fmt: skip
# Answers that fit together in the trade, the drive, and who is suspected most.
TOGETHER = {
    "a unit without power is silent": (
        "electric", {"code-network": "yes", "fuse-and-relay": "bad"}, {"supply-fault"},
    ),
    "the message is the code's own": ("electric", {"code-mechanical": "yes", "message-shown": "yes"}, set()),
    "low fuel lowers boost": (
        "electric", {"boost-shortfall": "low", "fuel-pressure": "low"}, {"fuel-supply-weak"},
    ),
    "two sensors low on one feed": (
        "electric", {"reference-voltage": "low", "code-boost-sensor": "yes"}, {"reference-pulled-down"},
    ),
    "a binding turbo makes the actuator complain": (
        "electric", {"code-device": "yes", "hand-sweep": "stops-short"}, {"vanes-sooted"},
    ),
    "a leak heard between two stages": (
        "electric", {"boost-leak-heard": "yes", "leak-down": "ok"}, set(),
    ),
    "a derate without a message": (
        "electric", {"boost-asked": "less", "message-shown": "no"}, {"power-held-back"},
    ),
    "two faults at once": (
        "electric", {"boost-leak-heard": "yes", "fuse-and-relay": "bad"},
        {"supply-fault", "charge-leak"},
    ),
    "a drop beyond a good ground point": (
        "electric", {"ground-drop": "high", "ground-point": "good"}, {"ground-fault"},
    ),
    "a wire that breaks inside its jacket": (
        "electric", {"moves-with-harness": "yes", "harness-look": "no"}, {"harness-fault", "connector-fault"},
    ),
}  # fmt: skip


@pytest.fixture
def advice(twin):
    return twin("pwa.engine.evidence.advice")


@pytest.fixture(scope="module")
def compiled():
    return json.loads(json.dumps(compiler.compile(reader.load(CONTENT))))


def answered(compiled, answers):
    """Each answer as seen in the state of assembly that its check asks for."""
    opens = {item["name"]: item["opens"] for item in compiled["variables"] if item["kind"] == "finding"}
    return {
        key: {"outcome": outcome, "state": OPEN if HOUSING in opens[key] else "assembled"}
        for key, outcome in answers.items()
    }


@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_what_cannot_well_be_true_together_is_pointed_out(advice, compiled, name):
    drive, answers = CONTRADICTIONS[name]
    found = advice.isolate(compiled, answered(compiled, answers), {"drive": drive})
    assert set(found["uncounted"]) <= EQUIPMENT
    assert found["conflict"]


@pytest.mark.parametrize("name", TOGETHER)
def test_what_fits_together_in_the_trade_is_no_contradiction(advice, compiled, name):
    drive, answers, leading = TOGETHER[name]
    found = advice.isolate(compiled, answers, {"drive": drive})
    assert found["conflict"] == ""
    assert not leading or found["suspects"][0]["cause"] in leading


def test_two_sensors_low_on_one_feed_clear_the_sensor(compiled):
    found = cpython.isolate(compiled, TOGETHER["two sensors low on one feed"][1], {"drive": "electric"})
    assert found["chances"]["boost-sensor-fouled"] < 0.1


def test_a_blown_fuse_stays_the_cause_when_the_unit_is_silent(compiled):
    found = cpython.isolate(compiled, TOGETHER["a unit without power is silent"][1], {"drive": "electric"})
    assert found["chances"]["supply-fault"] > 0.8


def test_a_contradiction_is_found_among_many_answers_that_agree(compiled):
    """Answers that confirm each other do not hide the one that does not fit."""
    agree = {"supply-drop": "high", "low-battery": "yes", "charging-voltage": "low", "code-supply": "yes"}
    odd = {"boost-leak-heard": "yes", "leak-down": "ok", "turbos-count": "one"}
    assert cpython.isolate(compiled, agree, {"drive": "electric"})["conflict"] == ""
    assert "Charge leak" in cpython.isolate(compiled, {**agree, **odd}, {"drive": "electric"})["conflict"]


@pytest.mark.parametrize("drive", ["electric", "pneumatic", "hydraulic"])
def test_no_two_findings_that_one_cause_shows_are_called_a_conflict(compiled, drive):
    """If this fails for a new cause or finding: the two named outcomes come from one cause, yet the advice
    would tell a technician to check one of them again. Mostly two answers of a finding rule each other out
    that the cause can both bring (then merge or reorder its outcomes), or a cause shows one outcome and an
    effect of it makes the other nearly impossible (then mend that chance).
    """
    known = case.given(compiled, drive)
    findings = {
        item["name"]: item
        for item in compiled["variables"]
        if item["kind"] == "finding" and item["shown_by"] and not item["given"] and drive in item["drives"]
    }
    absent = case.absent(compiled, drive)
    pairs = shown_together(compiled, absent, findings)
    assert len(pairs) > 1000
    usual = passed(compiled, known)
    called = []
    for (first, state), others in suspicious(compiled, known, findings, pairs).items():
        for second, other in others:
            evidence = {first: state, second: other}
            whole = passed(compiled, {**known, **evidence})
            names = conflict.find(
                compiled, evidence, usual, whole, lambda some: passed(compiled, {**absent, **some})
            )
            if names:
                called.append(f"{first} {state}, {second} {other}: {pairs[(first, state), (second, other)]}")
    assert called == []


def shown_together(compiled, given, findings):
    """Pair of (finding, outcome) -> a cause that shows both, itself or by its effects; no normal outcomes."""
    usual = passed(compiled, given)
    found = {}
    for item in compiled["variables"]:
        if item["kind"] != "cause" or item["name"] in given:
            continue
        there = passed(compiled, {**given, item["name"]: "yes"})
        shows = [
            (key, state)
            for key, finding in sorted(findings.items())
            for k, state in enumerate(finding["states"])
            if k
            and (share := there.joint(key)[k] / there.total) >= SHOWN
            and share >= OFTENER * usual.joint(key)[k] / usual.total
        ]
        for first, second in combinations(shows, 2):
            if first[0] != second[0]:
                found.setdefault((first, second), item["name"])
    return found


def suspicious(compiled, known, findings, pairs):
    """First of a pair -> the seconds that it makes clearly less likely; the others cannot be called."""
    seconds, usual = defaultdict(list), passed(compiled, known)
    for first, second in pairs:
        seconds[first].append(second)
    found = {}
    for (name, state), others in seconds.items():
        alone = passed(compiled, {**known, name: state})
        found[name, state] = [
            (other, said)
            for other, said in others
            if chance(alone, findings[other], said)
            <= chance(usual, findings[other], said) * 2**-conflict.SUSPICIOUS
        ]
    return found


def chance(beliefs, finding, state):
    return beliefs.joint(finding["name"])[finding["states"].index(state)] / beliefs.total


def passed(compiled, known):
    tree = Tree(compiled)
    tree.enter(known)
    return tree.propagate()
