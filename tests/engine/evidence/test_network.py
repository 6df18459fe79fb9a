"""Exact propagation: what any junction tree must do, on both interpreters."""

from itertools import product

import pytest

from pwa.build.model.tree import Node, compile_network
from pwa.engine.evidence.network import Tree

NO_YES = ("no", "yes")
RAIN = [
    Node("rain", NO_YES, (0.8, 0.2)),
    Node("sprinkler", NO_YES, (0.6, 0.4, 0.99, 0.01), ("rain",)),
    Node("wet", NO_YES, (1.0, 0.0, 0.1, 0.9, 0.2, 0.8, 0.01, 0.99), ("rain", "sprinkler")),
    Node("coin", ("heads", "tails", "edge"), (0.5, 0.49, 0.01)),
]
MODEL = compile_network(RAIN)


@pytest.fixture(scope="module")
def network(twin):
    return twin("pwa.engine.evidence.network")


def brute(evidence):
    """P(evidence) by summing the whole joint distribution."""
    total = 0.0
    for states in product(*(node.states for node in RAIN)):
        world = dict(zip((node.name for node in RAIN), states, strict=True))
        if any(world[name] != state for name, state in evidence.items()):
            continue
        p = 1.0
        for node in RAIN:
            entry = 0
            for parent in node.parents:
                entry = 2 * entry + NO_YES.index(world[parent])
            p *= node.table[entry * len(node.states) + node.states.index(world[node.name])]
        total += p
    return total


@pytest.mark.parametrize(
    "evidence", [{}, {"wet": "yes"}, {"wet": "no", "coin": "edge"}, {"rain": "no", "sprinkler": "yes"}]
)
def test_posteriors_are_those_of_the_whole_joint_distribution(network, evidence):
    found = network.posteriors(MODEL, evidence)
    assert found["probability"] == pytest.approx(brute(evidence), rel=1e-12)
    for node in RAIN:
        expected = [
            0.0 if evidence.get(node.name, state) != state else brute({**evidence, node.name: state})
            for state in node.states
        ]
        shares = [p / brute(evidence) for p in expected]
        assert found["marginals"][node.name] == pytest.approx(shares, abs=1e-12)


def test_contradicting_evidence_is_a_sentence_not_a_division_by_zero(network):
    with pytest.raises(ValueError, match="contradict each other"):
        network.posteriors(MODEL, {"rain": "no", "sprinkler": "no", "wet": "yes"})


def test_a_question_is_no_as_long_as_none_of_its_causes_is_there(network):
    asked = compile_network(RAIN, [("any-water", ["rain", "sprinkler"])])
    for evidence in ({}, {"wet": "yes"}, {"rain": "yes"}, {"rain": "no", "wet": "no"}):
        found = network.posteriors(asked, evidence)["marginals"]["any-water"]
        dry = {"rain": "no", "sprinkler": "no"}
        possible = all(dry.get(name, state) == state for name, state in evidence.items())
        none = brute({**evidence, **dry}) / brute(evidence) if possible else 0.0
        assert found == pytest.approx([none, 1 - none], abs=1e-12)


def test_an_answer_can_be_withdrawn_although_it_ruled_states_out():
    """Wet grass rules out that it is dry all round, and dry grass that it rained: zeros on both sides."""
    slope = Node("slope", NO_YES, (1.0, 0.0, 0.0, 1.0), ("rain",))
    tree = Tree(compile_network([*RAIN, slope]))
    tree.enter({"wet": "yes", "slope": "no"})
    done = tree.propagate()
    assert done.joint("slope") == pytest.approx([brute({"wet": "yes", "rain": "no"}), 0.0], abs=1e-15)
    assert done.without("slope")[1] == pytest.approx(brute({"wet": "yes", "rain": "yes"}), abs=1e-15)
    assert done.without("wet") == pytest.approx(
        [brute({"wet": state, "rain": "no"}) for state in NO_YES], abs=1e-15
    )


def test_unknown_names_are_told(network):
    with pytest.raises(ValueError, match="no variable 'snow'"):
        network.posteriors(MODEL, {"snow": "yes"})
    with pytest.raises(ValueError, match="wet has no state 'maybe'; it knows no, yes"):
        network.posteriors(MODEL, {"wet": "maybe"})


def test_propagating_leaves_the_model_as_it_was(network):
    before = network.posteriors(MODEL, {})
    network.posteriors(MODEL, {"wet": "yes"})
    assert network.posteriors(MODEL, {}) == before


def test_the_same_network_always_gives_the_same_tree():
    assert compile_network(RAIN) == MODEL
