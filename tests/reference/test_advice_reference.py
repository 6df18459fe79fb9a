"""The advice against pyAgrum: readings near a limit, and what repairs leave.

Virtual evidence: Pearl 1988, section 2.2.2.
"""

import json
import random

import pyagrum
import pytest

from pwa.build.build import CONTENT
from pwa.build.content import reader
from pwa.build.model import compiler
from pwa.engine.evidence import advice, case
from pwa.engine.evidence.decide import Stakes
from pwa.engine.evidence.value import Weighing
from tests.reference import oracle

DRIVE = {"drive": "electric"}


@pytest.fixture(scope="module")
def compiled():
    return json.loads(json.dumps(compiler.compile(reader.load(CONTENT))))


@pytest.fixture(scope="module")
def agrum():
    loaded = reader.load(CONTENT)
    return oracle.net(compiler.network(loaded.causes, loaded.findings, questions=False))


def answers(compiled, seed):
    """Some answers, every third of them a reading near its limit."""
    draw = random.Random(seed)
    findings = [
        item
        for item in compiled["variables"]
        if item["kind"] == "finding" and case.means_something(item, "electric")
    ]
    found = {}
    for n, item in enumerate(draw.sample(findings, 9)):
        outcome = item["states"][0] if draw.random() < 0.6 else draw.choice(item["states"])
        weights = {state: round(draw.uniform(0.05, 1), 2) for state in item["states"]}
        found[item["name"]] = {"outcome": outcome, "weights": weights} if n % 3 == 0 else outcome
    return found


def entered(compiled, said):
    """The same for pyAgrum: likelihoods in the order of the states."""
    states = {item["name"]: item["states"] for item in compiled["variables"]}
    findings = {item["name"]: item for item in compiled["variables"] if item["kind"] == "finding"}
    known = dict(case.given(compiled, "electric", None, case.lacking(findings, said)))
    for name, value in said.items():
        if isinstance(value, dict):
            known[name] = [value["weights"][state] for state in states[name]]
        else:
            known[name] = value
    return known


@pytest.mark.parametrize("seed", range(6))
def test_suspects_under_readings_near_their_limits_equal_pyagrum(twin, compiled, agrum, seed):
    said = answers(compiled, seed)
    found = twin("pwa.engine.evidence.advice").isolate(compiled, said, DRIVE)
    # What lies behind something that is not open counts for nothing (tests/engine/evidence/test_truck.py).
    said = {name: answer for name, answer in said.items() if name not in found["uncounted"]}
    inference = pyagrum.LazyPropagation(agrum)
    inference.setEvidence(entered(compiled, said))
    for item in found["suspects"]:
        assert item["p"] == pytest.approx(
            inference.posterior(item["cause"])[{item["cause"]: "yes"}], abs=1e-9
        )
    expected = oracle.standing(agrum, compiled, entered(compiled, said))
    assert list(found["standing"].values()) == pytest.approx(expected, abs=1e-9)


def chance(inference, evidence, weights, outcome=None):
    """P(these factors on the causes, and this outcome): each cause weighted by its chance to do no harm."""
    known = {**evidence, **({outcome[0]: outcome[1]} if outcome else {})}
    kept = {cause: list(factors) for cause, factors in weights.items() if cause not in evidence}
    inference.setEvidence({**known, **kept})
    return inference.evidenceProbability()


@pytest.mark.parametrize("finding", ["hand-sweep", "actuator-off-turbo", "supply-drop"])
def test_what_repairs_leave_with_each_outcome_equals_pyagrum(compiled, agrum, finding):
    """After two steps: what a proof sees, what comes back, and what does so although the first was proved."""
    said = {"code-mechanical": "yes", "actuator-sounds": "weak"}
    here = case.situation(DRIVE)
    stakes = Stakes(compiled, "electric")
    whole = advice._propagated(compiled, said, here, said)
    item = next(item for item in compiled["variables"] if item["name"] == finding)
    weighing = Weighing(stakes, whole, advice._chances(compiled, whole), [item])
    inference = pyagrum.LazyPropagation(agrum)
    evidence = entered(compiled, said)
    total = chance(inference, evidence, {})
    first, second = stakes.left(["clean"]), stakes.left(["clean", "replace-actuator"])
    for seen, later in ((first, [0.0] * len(first)), (second, second), (first, second)):
        found = weighing._told(seen, later)
        weights = stakes.weights(seen, later)
        for k, state in enumerate(item["states"]):
            expected = chance(inference, evidence, weights, (finding, state)) / total
            assert found[finding][k] == pytest.approx(expected, abs=1e-9)
        assert found[""][0] == pytest.approx(chance(inference, evidence, weights) / total, abs=1e-9)
    each, _ = weighing.outcomes(finding)
    there = weighing._there(finding, each)
    for number in range(len(stakes.groups)):
        if not isinstance(weighing._alone[number], float):
            for k, state in enumerate(item["states"]):
                p = chance(inference, evidence, {}, (finding, state))
                clear = chance(inference, evidence, stakes.back(number), (finding, state))
                assert there[number][k] == pytest.approx((p - clear) / total, abs=1e-9)


@pytest.mark.parametrize("repair", ["clean", "replace-actuator"])
def test_what_a_repair_leaves_equals_pyagrum(twin, compiled, agrum, repair):
    said = {"soot-seen": "yes", "code-circuit": "yes"}
    stakes = Stakes(compiled, "electric")
    _, options = twin("pwa.engine.evidence.advice").options(compiled, said, DRIVE)
    option = next(item for item in options if item["repair"] == repair)
    left = stakes.left([repair])
    inference = pyagrum.LazyPropagation(agrum)
    evidence = entered(compiled, said)
    total = chance(inference, evidence, {})
    expected = 1 - chance(inference, evidence, stakes.weights(left, left)) / total
    assert option["comes_back"] == pytest.approx(expected, abs=1e-9)
    cured = {
        cause: [1.0, left[n]] for n in range(len(left)) for cause in stakes.groups[n]["causes"] if left[n] < 1
    }
    assert option["cures"] == pytest.approx(1 - chance(inference, evidence, cured) / total, abs=1e-9)
