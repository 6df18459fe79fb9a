"""Our network in pyAgrum, and the questions that are put to it.

A question ("any fault of the control side?") ties dozens of causes together, and as a node of its own it
would make pyAgrum's cliques larger than any memory. So it is asked as the chance that none of these causes is
there: the probability of the evidence with all of them ruled out, over the probability of the evidence.
"""

from collections.abc import Iterable, Mapping
from itertools import product
from typing import Any

import pyagrum

from pwa.build.model.tree import Node


def net(nodes: Iterable[Node]) -> Any:
    """In double precision: pyAgrum's BIF reader keeps single precision."""
    made, nodes = pyagrum.BayesNet(), list(nodes)
    for node in nodes:
        made.add(pyagrum.LabelizedVariable(node.name, node.name, list(node.states)))
        for parent in node.parents:
            made.addArc(parent, node.name)
    states = {node.name: node.states for node in nodes}
    for node in nodes:
        for row, given in enumerate(product(*(states[parent] for parent in node.parents))):
            chances = list(node.table[row * len(node.states) :][: len(node.states)])
            made.cpt(node.name)[dict(zip(node.parents, given, strict=True))] = chances
    return made


def none_of(made: Any, causes: Iterable[str], evidence: Mapping[str, Any]) -> float:
    """The chance that none of these causes is there."""
    oracle = pyagrum.LazyPropagation(made)
    oracle.setEvidence(dict(evidence))
    whole = oracle.evidenceProbability()
    oracle.setEvidence({**evidence, **{cause: "no" for cause in causes if cause not in evidence}})
    return float(oracle.evidenceProbability() / whole)


def standing(made: Any, model: Mapping[str, Any], evidence: Mapping[str, Any]) -> list[float]:
    """Control side, mechanism, both, not the VGT: by inclusion and exclusion."""
    any_of = {question["name"]: question["any_of"] for question in model["questions"]}
    control, mechanism = any_of["any-control"], any_of["any-mechanism"]
    no_control, no_mechanism = none_of(made, control, evidence), none_of(made, mechanism, evidence)
    neither = none_of(made, [*control, *mechanism], evidence)
    return [no_mechanism - neither, no_control - neither, 1 - no_control - no_mechanism + neither, neither]
