"""Inference against the published Asia network, noisy-OR by hand, and pgmpy and pyAgrum on our own model."""

import json
import math
import random
from itertools import product
from pathlib import Path

import pyagrum
import pytest

from pwa.build.content import reader
from pwa.build.model import bif, compiler, noisy
from pwa.build.model.tree import Node, compile_network
from pwa.engine.evidence import case, sides
from pwa.engine.evidence.network import posteriors
from tests.reference import oracle

CONTENT = Path(__file__).parent.parent.parent / "content"
YN = ("yes", "no")


def asia() -> list[Node]:
    """Lauritzen and Spiegelhalter, JRSS B 50 (1988) 157-224."""
    either = [value for a, b in product((1, 0), repeat=2) for value in ((1.0, 0.0) if a or b else (0.0, 1.0))]
    return [
        Node("asia", YN, (0.01, 0.99)),
        Node("tub", YN, (0.05, 0.95, 0.01, 0.99), ("asia",)),
        Node("smoke", YN, (0.5, 0.5)),
        Node("lung", YN, (0.1, 0.9, 0.01, 0.99), ("smoke",)),
        Node("bronc", YN, (0.6, 0.4, 0.3, 0.7), ("smoke",)),
        Node("either", YN, tuple(either), ("lung", "tub")),
        Node("xray", YN, (0.98, 0.02, 0.05, 0.95), ("either",)),
        Node("dysp", YN, (0.9, 0.1, 0.8, 0.2, 0.7, 0.3, 0.1, 0.9), ("bronc", "either")),
    ]


@pytest.fixture(scope="module")
def network(twin):
    return twin("pwa.engine.evidence.network")


# Values of the published network; VariableElimination and LazyPropagation agree on them.
@pytest.mark.parametrize(
    ("evidence", "query", "value"),
    [({}, "tub", 0.010400), ({}, "lung", 0.055), ({}, "bronc", 0.45), ({}, "either", 0.064828),
     ({}, "xray", 0.110290), ({}, "dysp", 0.435971), ({"dysp": "yes"}, "bronc", 0.833967),
     ({"asia": "yes", "dysp": "yes"}, "tub", 0.087751), ({"asia": "yes", "dysp": "yes"}, "lung", 0.099525),
     ({"asia": "yes", "dysp": "yes"}, "bronc", 0.811402), ({"xray": "yes"}, "lung", 0.488711),
     ({"smoke": "yes", "xray": "yes", "dysp": "yes"}, "lung", 0.723714),
     ({"smoke": "no", "asia": "yes", "xray": "yes", "dysp": "yes"}, "tub", 0.632329),
     ({"tub": "yes"}, "asia", 0.048077)],
)  # fmt: skip
def test_posteriors_of_the_published_asia_network(network, evidence, query, value):
    found = network.posteriors(compile_network(asia()), evidence)
    assert found["marginals"][query][0] == pytest.approx(value, abs=1e-6)


def test_noisy_or_with_leak_worked_by_hand():
    """Pearl 1988 with Henrion's leak: P = 1 - (1 - l) prod(1 - w); w 0.8, 0.6, 0.3, leak 0.05."""
    weights, leak = {"a": [0.8], "b": [0.6], "c": [0.3]}, [0.05]
    nodes = [Node(name, ("no", "yes"), (0.5, 0.5)) for name in weights]
    effect = noisy.Effect("e", ("no", "yes"), weights, leak, "finding", {})
    compiled = compile_network([*nodes, *noisy.nodes(effect)])
    for active, value in (("", 0.05), ("c", 0.335), ("b", 0.62), ("bc", 0.734), ("a", 0.81), ("ac", 0.867),
                          ("ab", 0.924), ("abc", 0.9468)):  # fmt: skip
        evidence = {name: "yes" if name in active else "no" for name in weights}
        assert posteriors(compiled, evidence)["marginals"]["e"][1] == pytest.approx(value, abs=1e-12)


def test_noisy_max_is_the_maximum_of_independent_contributions():
    """Diez 1993: every cause brings about its own state or none; the greatest counts. All worlds."""
    states = ("none", "some", "much")
    causes = {"a": [0.3, 0.4], "b": [0.0, 0.7], "c": [0.5, 0.1], "d": [0.2, 0.2], "e": [0.1, 0.6]}
    leak = [0.05, 0.02]
    nodes = [Node(name, ("no", "yes"), (0.5, 0.5)) for name in causes]
    effect = noisy.Effect("f", states, causes, leak, "finding", {})
    compiled = compile_network([*nodes, *noisy.nodes(effect)])
    for active in ("", "a", "be", "acd", "abcde"):
        expected = [0.0, 0.0, 0.0]
        sources = [[1 - sum(own), *own] for own in [leak, *(causes[name] for name in active)]]
        for drawn in product(range(3), repeat=len(sources)):
            expected[max(drawn)] += math.prod(own[k] for own, k in zip(sources, drawn, strict=True))
        evidence = {name: "yes" if name in active else "no" for name in causes}
        assert posteriors(compiled, evidence)["marginals"]["f"] == pytest.approx(expected, abs=1e-12)


@pytest.fixture(scope="module")
def ours():
    loaded = reader.load(CONTENT)
    compiled = json.loads(json.dumps(compiler.compile(loaded)))
    return compiled, compiler.network(loaded.causes, loaded.findings, questions=False)


def random_evidence(compiled, seed, most=8):
    """Findings, outcomes as often normal as not, and in every third case one cause that is known."""
    chance = random.Random(seed)
    findings = [item for item in compiled["variables"] if item["kind"] == "finding"]
    evidence = {}
    for item in chance.sample(findings, chance.randint(0, most)):
        normal = chance.random() < 0.5
        evidence[item["name"]] = item["states"][0] if normal else chance.choice(item["states"][1:])
    if seed % 3 == 0:
        evidence[
            chance.choice([item["name"] for item in compiled["variables"] if item["kind"] == "cause"])
        ] = "no"
    return evidence


def marginals(network, compiled, evidence):
    """Ours, helpers and questions included."""
    found = network.posteriors(compiled, evidence)["marginals"]
    states = {item["name"]: item["states"] for item in compiled["variables"]}
    states |= {question["name"]: ["no", "yes"] for question in compiled["questions"]}
    return {
        (name, state): p
        for name in found
        if name not in evidence
        for state, p in zip(states[name], found[name], strict=True)
    }


@pytest.fixture(scope="module")
def agrum(ours):
    return oracle.net(ours[1])


@pytest.mark.parametrize("seed", range(24))
def test_every_marginal_of_our_own_network_equals_pyagrum(ours, agrum, network, seed):
    evidence = random_evidence(ours[0], seed, most=20)
    inference = pyagrum.LazyPropagation(agrum)
    inference.setEvidence(evidence)
    any_of = {question["name"]: question["any_of"] for question in ours[0]["questions"]}
    for (name, state), p in marginals(network, ours[0], evidence).items():
        if name in any_of:
            none = oracle.none_of(agrum, any_of[name], evidence)
            assert p == pytest.approx(none if state == "no" else 1 - none, abs=1e-9)
        else:
            assert p == pytest.approx(inference.posterior(name)[{name: state}], abs=1e-9)


@pytest.fixture(scope="module")
def exported(ours):
    """Our network as pgmpy reads it from the BIF export."""
    from pgmpy.readwrite import BIFReader  # here: it takes seconds, and each core reads every test

    return BIFReader(string=bif.bif(ours[1])).get_model()


@pytest.mark.parametrize("seed", range(100, 104))
def test_every_marginal_of_our_own_network_equals_pgmpy_through_the_bif_export(ours, exported, network, seed):
    from pgmpy.inference import VariableElimination

    evidence = random_evidence(ours[0], seed)
    inference = VariableElimination(exported)
    theirs = {}
    questions = {question["name"] for question in ours[0]["questions"]}
    for (name, state), p in marginals(network, ours[0], evidence).items():
        if name in questions:
            continue
        if name not in theirs:
            theirs[name] = inference.query([name], evidence=evidence, show_progress=False)
        assert p == pytest.approx(theirs[name].get_value(**{name: state}), abs=1e-9)


@pytest.mark.parametrize("seed", range(200, 206))
def test_standing_and_reasons_equal_pyagrum(ours, agrum, twin, seed):
    """A reason is a change in log odds: with all answers, less with all but the one."""
    findings = {item["name"]: item for item in ours[0]["variables"] if item["kind"] == "finding"}
    evidence = {
        name: state
        for name, state in random_evidence(ours[0], seed * 3 + 1, most=16).items()
        if case.means_something(findings[name], "electric")
    }
    of_every_job = case.given(ours[0], "electric")
    found = twin("pwa.engine.evidence.advice").isolate(ours[0], evidence, {"drive": "electric"})
    # What lies behind something that is not open counts for nothing (tests/engine/evidence/test_truck.py).
    evidence = {name: state for name, state in evidence.items() if name not in found["uncounted"]}
    any_of = {question["name"]: question["any_of"] for question in ours[0]["questions"]}

    def none_of(causes, given):
        return oracle.none_of(agrum, causes, {**of_every_job, **given})

    def log_odds(side, given):
        none = none_of(any_of[f"any-{side}"], given)
        return math.log((1 - none) / none)

    expected = oracle.standing(agrum, ours[0], {**of_every_job, **evidence})
    assert list(found["standing"].values()) == pytest.approx(expected, abs=1e-9)
    vgt = [key for side in ("control", "mechanism") for key in sides.causes_of(ours[0], side)]
    for system in found["outside"]:
        clear = none_of([*vgt, *sides.causes_of(ours[0], system["system"])], evidence)
        assert system["p"] == pytest.approx(found["standing"]["not-vgt"] - clear, abs=1e-9)
    assert found["upstream"] == pytest.approx(1 - none_of(any_of["any-upstream"], evidence), abs=1e-9)
    for reason in found["reasons"]:
        others = {name: state for name, state in evidence.items() if name != reason["finding"]}
        for side, moved in reason["moves"].items():
            expected = log_odds(side, evidence) - log_odds(side, others)
            assert moved == pytest.approx(expected, abs=1e-6)
