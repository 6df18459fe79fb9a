"""The advice against pyAgrum: readings near a limit, the value of a check, and what a repair leaves.

Virtual evidence: Pearl 1988, section 2.2.2. Value of information: Howard 1966.
"""

import itertools
import json
import math
import random

import pyagrum
import pytest

from pwa.build.build import CONTENT
from pwa.build.content import reader
from pwa.build.model import compiler
from pwa.engine.evidence import advice, case
from pwa.engine.evidence import value as worth
from pwa.engine.evidence.decide import Stakes
from pwa.engine.evidence.value import Weighing

DRIVE = {"drive": "electric"}


@pytest.fixture(scope="module")
def compiled():
    return json.loads(json.dumps(compiler.compile(reader.load(CONTENT))))


@pytest.fixture(scope="module")
def agrum():
    loaded = reader.load(CONTENT)
    net = pyagrum.BayesNet()
    nodes = compiler.network(loaded.causes, loaded.findings)
    for node in nodes:
        net.add(pyagrum.LabelizedVariable(node.name, node.name, list(node.states)))
        for parent in node.parents:
            net.addArc(parent, node.name)
    states = {node.name: node.states for node in nodes}
    for node in nodes:
        for row, given in enumerate(itertools.product(*(states[parent] for parent in node.parents))):
            chances = list(node.table[row * len(node.states) :][: len(node.states)])
            net.cpt(node.name)[dict(zip(node.parents, given, strict=True))] = chances
    return net


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
    oracle = pyagrum.LazyPropagation(agrum)
    oracle.setEvidence(entered(compiled, said))
    found = twin("pwa.engine.evidence.advice").isolate(compiled, said, DRIVE)
    for item in found["suspects"]:
        assert item["p"] == pytest.approx(oracle.posterior(item["cause"])[{item["cause"]: "yes"}], abs=1e-9)
    expected = [float(p) for p in oracle.posterior("standing").tolist()]
    assert list(found["standing"].values()) == pytest.approx(expected, abs=1e-9)


def come_back(oracle, evidence, weights, outcome=None):
    """P(no come-back of a group and this outcome): each cause weighted by its chance to stay away."""
    known = {**evidence, **({outcome[0]: outcome[1]} if outcome else {})}
    oracle.setEvidence({**known, **{cause: list(factors) for cause, factors in weights.items()}})
    return oracle.evidenceProbability()


@pytest.mark.parametrize("finding", ["hand-sweep", "actuator-off-turbo", "supply-drop"])
def test_the_value_of_a_check_is_what_pyagrum_and_the_plans_make_of_it(compiled, agrum, finding):
    """Expected cost of the best plan now, less that after the outcome, both from pyAgrum's probabilities."""

    said = {"code-mechanical": "yes", "actuator-sounds": "weak"}
    here = case.situation(DRIVE)
    stakes = Stakes(compiled, "electric")
    whole = advice._propagated(compiled, said, here, said)
    weighing = Weighing(stakes, whole, [finding])
    oracle = pyagrum.LazyPropagation(agrum)
    oracle.setTargets({finding})
    evidence = entered(compiled, said)
    total = come_back(oracle, evidence, {})
    states = next(item["states"] for item in compiled["variables"] if item["name"] == finding)
    each, groups = weighing.outcomes(finding)
    for k, state in enumerate(states):
        p = come_back(oracle, evidence, {}, (finding, state)) / total
        assert each[k] == pytest.approx(p, abs=1e-9)
        for number in range(len(stakes.groups)):
            if stakes.bound(number, whole) > 60:
                clear = come_back(oracle, evidence, stakes.weights(number), (finding, state)) / total
                assert groups[number][k] == pytest.approx(p - clear, abs=1e-9)

    def soft(chances, p):
        found = 0.0
        for plans in stakes.components:
            costs = [
                p * cost + sum(chances[g] * stakes.losses[g] for g in leaves) for cost, leaves, _ in plans
            ]
            scale = worth.SPREAD * p
            found -= scale * math.log(sum(math.exp(-cost / scale) for cost in costs))
        return found

    value = soft(weighing.chances, 1.0) - sum(
        soft([group[k] for group in groups], each[k]) for k in range(len(states))
    )
    assert weighing.saves(finding) == pytest.approx(
        value, abs=1.0
    )  # groups with little at stake are left out


@pytest.mark.parametrize("repair", ["clean", "repair-wiring"])
def test_what_a_repair_leaves_equals_pyagrum(twin, compiled, agrum, repair):
    said = {"soot-seen": "yes", "code-circuit": "yes"}
    stakes = Stakes(compiled, "electric")
    _, options = twin("pwa.engine.evidence.advice").options(compiled, said, DRIVE)
    option = next(item for item in options if item["repair"] == repair)
    weights = {}
    for number, group in enumerate(stakes.groups):
        if repair not in group["repairs"]:
            weights |= stakes.weights(number)
    oracle = pyagrum.LazyPropagation(agrum)
    evidence = entered(compiled, said)
    kept = {cause: factors for cause, factors in weights.items() if cause not in evidence}
    expected = 1 - come_back(oracle, evidence, kept) / come_back(oracle, evidence, {})
    assert option["comes_back"] == pytest.approx(expected, abs=1e-9)
