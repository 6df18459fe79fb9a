"""The network in BIF, the Interchange Format for Bayesian networks (Cozman 1998), for other libraries."""

from collections.abc import Iterator, Sequence
from itertools import product

from pwa.build.model.tree import Node


def bif(network: Sequence[Node], name: str = "layby") -> str:
    """BIF 0.15 text of exactly these nodes, helpers included; probabilities in full precision."""
    states = {node.name: node.states for node in network}
    parts = [f"network {name} {{\n}}\n"]
    for node in network:
        known = ", ".join(node.states)
        parts.append(f"variable {node.name} {{\n  type discrete [ {len(node.states)} ] {{ {known} }};\n}}\n")
    for node in network:
        rows = "".join(f"  {row}\n" for row in _rows(node, states))
        given = f" | {', '.join(node.parents)}" if node.parents else ""
        parts.append(f"probability ( {node.name}{given} ) {{\n{rows}}}\n")
    return "".join(parts)


def _rows(node: Node, states: dict[str, tuple[str, ...]]) -> Iterator[str]:
    size = len(node.states)
    if not node.parents:
        yield f"table {_numbers(node.table)};"
        return
    for row, given in enumerate(product(*(states[parent] for parent in node.parents))):
        yield f"({', '.join(given)}) {_numbers(node.table[row * size : row * size + size])};"


def _numbers(chances: Sequence[float]) -> str:
    return ", ".join(repr(float(chance)) for chance in chances)
