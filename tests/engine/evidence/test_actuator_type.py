"""What a truck is and has: an actuator type that nobody knows yet, parts that it lacks, its complaint."""

import json
from pathlib import Path

import pytest

from pwa.build.content import reader
from pwa.build.model import compiler
from pwa.engine.evidence import case

CONTENT = Path(__file__).parents[3] / "content"
LOADED = reader.load(CONTENT)
TYPES = [item.key for item in LOADED.actuators]
UNKNOWN = {"drive": case.NOT_KNOWN}


@pytest.fixture(scope="module")
def advice(twin):
    return twin("pwa.engine.evidence.advice")


@pytest.fixture(scope="module")
def compiled():
    return json.loads(json.dumps(compiler.compile(LOADED)))


def chances(advice, compiled, evidence, **known):
    return advice.isolate(compiled, evidence, known)["chances"]


def test_the_shares_of_the_types_are_all_of_them():
    assert sum(item.share for item in LOADED.actuators) == pytest.approx(1)


def test_a_truck_of_unknown_type_is_the_mixture_of_all_types(advice, compiled):
    """P(cause) = sum over types of share * P(evidence, cause | type) / the same without the cause."""
    from pwa.engine.evidence.network import posteriors

    evidence = {"code-mechanical": "yes", "supply-drop": "ok"}
    total, parts = 0.0, {}
    for item in LOADED.actuators:
        gone = posteriors(compiled, case.absent(compiled, item.key))["probability"]
        found = posteriors(compiled, {**case.given(compiled, item.key), **evidence})
        weight = item.share * found["probability"] / gone
        total += weight
        for cause in LOADED.causes:
            parts[cause.key] = parts.get(cause.key, 0.0) + weight * found["marginals"][cause.key][1]
    mixed = chances(advice, compiled, evidence, **UNKNOWN)
    assert mixed == pytest.approx({key: part / total for key, part in parts.items()}, abs=1e-9)


def test_a_cause_of_one_type_is_as_rare_as_that_type(advice, compiled):
    alone = chances(advice, compiled, {}, drive="pneumatic")["air-supply-fault"]
    mixed = chances(advice, compiled, {}, **UNKNOWN)["air-supply-fault"]
    assert 0 < mixed < 0.5 * alone


def test_an_answer_that_only_one_type_can_have_tells_the_type(advice, compiled):
    evidence = {"air-at-actuator": "yes"}
    mixed = chances(advice, compiled, evidence, **UNKNOWN)
    assert mixed == pytest.approx(chances(advice, compiled, evidence, drive="pneumatic"), abs=1e-9)


def test_a_check_of_one_type_waits_until_the_type_is_known(advice, compiled):
    found = advice.isolate(compiled, {"code-mechanical": "yes"}, UNKNOWN)
    drives = {item.key: item.drives for item in LOADED.findings}
    assert all(len(drives.get(check["finding"], TYPES)) == len(TYPES) for check in found["checks"])
    waiting = [check for check in found["later"] if case.TYPE in check["needs"]]
    assert waiting
    assert all(len(drives[check["finding"]]) < len(TYPES) for check in waiting)


@pytest.mark.parametrize("drive", TYPES)
def test_every_type_can_be_answered_while_none_is_known(advice, compiled, drive):
    own = next(item for item in LOADED.findings if item.drives == [drive])
    found = advice.isolate(compiled, {own.key: own.states()[-1]}, UNKNOWN)
    assert found["uncounted"] == []
