"""Inference against the published Asia network, noisy-OR by hand, and pgmpy and pyAgrum on our own model."""

import random
from itertools import product
from pathlib import Path

import pyagrum
import pytest
from pgmpy.inference import VariableElimination
from pgmpy.readwrite import BIFReader

from pwa.build import bif, content, model, noisy
from pwa.build.tree import Node, compile_network

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
    return twin("pwa.engine.network")


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
    from pwa.engine.network import posteriors

    for active, value in (("", 0.05), ("c", 0.335), ("b", 0.62), ("bc", 0.734), ("a", 0.81), ("ac", 0.867),
                          ("ab", 0.924), ("abc", 0.9468)):  # fmt: skip
        evidence = {name: "yes" if name in active else "no" for name in weights}
        assert posteriors(compiled, evidence)["marginals"]["e"][1] == pytest.approx(value, abs=1e-12)


@pytest.fixture(scope="module")
def ours():
    loaded = content.load(CONTENT)
    return model.compile(loaded), bif.bif(model.network(loaded.causes, loaded.findings))


def random_evidence(compiled, seed):
    chance = random.Random(seed)
    findings = [item for item in compiled["variables"] if item["kind"] == "finding"]
    return {
        item["name"]: chance.choice(item["states"]) for item in chance.sample(findings, chance.randint(0, 8))
    }


@pytest.mark.parametrize("seed", range(20))
def test_every_marginal_of_our_own_network_equals_pyagrum(ours, network, tmp_path, seed):
    compiled, text = ours
    evidence = random_evidence(compiled, seed)
    (tmp_path / "ours.bif").write_text(text)
    oracle = pyagrum.LazyPropagation(pyagrum.loadBN(str(tmp_path / "ours.bif")))
    oracle.setEvidence(evidence)
    found = network.posteriors(compiled, evidence)["marginals"]
    for item in compiled["variables"]:
        if item["name"] not in evidence:
            theirs = oracle.posterior(item["name"])
            for state, p in zip(item["states"], found[item["name"]], strict=True):
                # Its BIF reader keeps probabilities in single precision.
                assert p == pytest.approx(theirs[{item["name"]: state}], abs=1e-6)


@pytest.mark.parametrize("seed", range(100, 106))
def test_every_marginal_of_our_own_network_equals_pgmpy(ours, network, seed):
    compiled, text = ours
    evidence = random_evidence(compiled, seed)
    oracle = VariableElimination(BIFReader(string=text).get_model())
    found = network.posteriors(compiled, evidence)["marginals"]
    for item in compiled["variables"]:
        if item["kind"] == "helper" or item["name"] in evidence:
            continue
        theirs = oracle.query([item["name"]], evidence=evidence, show_progress=False)
        for state, p in zip(item["states"], found[item["name"]], strict=True):
            assert p == pytest.approx(theirs.get_value(**{item["name"]: state}), abs=1e-9)
