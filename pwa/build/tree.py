"""From a Bayesian network to the junction tree that the phone propagates in.

Moralise, eliminate by least fill, keep the maximal cliques, join them by a maximum spanning tree over
separator sizes. Everything is ordered by index, so the same network always gives the same tree.

Sources: Lauritzen and Spiegelhalter 1988 (the method); Kjaerulff 1990 (least fill); Jensen and Jensen
1994 (maximum spanning trees of cliques are the junction trees).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations, product
from math import prod
from typing import Any


@dataclass(frozen=True)
class Node:
    """One variable. The table is flat, in the order of parents then own state, the own state fastest."""

    name: str
    states: tuple[str, ...]
    table: tuple[float, ...]
    parents: tuple[str, ...] = ()
    kind: str = "variable"
    about: dict[str, Any] = field(default_factory=dict)  # what the screens need to know of it


def compile_network(nodes: Sequence[Node], root: str = "") -> dict[str, Any]:
    """The junction tree as JSON-able tables; `root` names a variable the root clique shall hold.

    `edges` are in collect order, children before parents. `child_index` and `parent_index` say for each
    entry of a clique's table to which entry of the separator it belongs; `homes` says the same for each
    variable and the smallest clique that holds it.
    """
    place = {node.name: index for index, node in enumerate(nodes)}
    sizes = [len(node.states) for node in nodes]
    families = [[*(place[parent] for parent in node.parents), place[node.name]] for node in nodes]
    cliques = _cliques(_moral(families, len(nodes)), sizes)
    order = _spanning(cliques, _smallest(cliques, {place[root]}, sizes) if root else 0)
    return {
        "variables": [
            {"name": node.name, "kind": node.kind, "states": list(node.states), **node.about}
            for node in nodes
        ],
        "cliques": [
            {"variables": clique, "table": table}
            for clique, table in zip(cliques, _tables(cliques, nodes, families, sizes), strict=True)
        ],
        "edges": [_edge(cliques, child, parent, sizes) for child, parent in order],
        "homes": [_home(cliques, variable, sizes) for variable in range(len(nodes))],
    }


def _moral(families: list[list[int]], count: int) -> list[set[int]]:
    """Neighbours of each variable once parents are married and arrows dropped."""
    neighbours: list[set[int]] = [set() for _ in range(count)]
    for family in families:
        for a, b in combinations(family, 2):
            neighbours[a].add(b)
            neighbours[b].add(a)
    return neighbours


def _cliques(neighbours: list[set[int]], sizes: list[int]) -> list[list[int]]:
    """The maximal cliques that elimination by least fill, then least table, then index leaves."""
    left, found = set(range(len(neighbours))), []
    while left:
        chosen = min(left, key=lambda v: (_fill(neighbours, v), _weight({v} | neighbours[v], sizes), v))
        around = neighbours[chosen]
        found.append(around | {chosen})
        for a in around:
            neighbours[a] |= around
            neighbours[a] -= {a, chosen}
        left.remove(chosen)
    maximal = [
        clique
        for index, clique in enumerate(found)
        if not any(clique < other or (clique == other and index > n) for n, other in enumerate(found))
    ]
    return [sorted(clique) for clique in maximal]


def _fill(neighbours: list[set[int]], variable: int) -> int:
    return sum(b not in neighbours[a] for a, b in combinations(neighbours[variable], 2))


def _weight(variables: set[int], sizes: list[int]) -> int:
    return prod(sizes[variable] for variable in variables)


def _smallest(cliques: list[list[int]], wanted: set[int], sizes: list[int]) -> int:
    holding = [index for index, clique in enumerate(cliques) if wanted <= set(clique)]
    return min(holding, key=lambda index: (_weight(set(cliques[index]), sizes), index))


def _spanning(cliques: list[list[int]], root: int) -> list[tuple[int, int]]:
    """(child, parent) of a maximum spanning tree (Prim), children before parents."""
    joined, edges = [root], []
    left = [index for index in range(len(cliques)) if index != root]
    while left:
        child, parent = max(
            ((child, parent) for child in left for parent in joined),
            key=lambda pair: (len(set(cliques[pair[0]]) & set(cliques[pair[1]])), -pair[0], -pair[1]),
        )
        edges.append((child, parent))
        joined.append(child)
        left.remove(child)
    return edges[::-1]


def _tables(
    cliques: list[list[int]], nodes: Sequence[Node], families: list[list[int]], sizes: list[int]
) -> list[list[float]]:
    """Each clique's product of the nodes given to it: every node to the smallest clique of its family."""
    tables = [[1.0] * _weight(set(clique), sizes) for clique in cliques]
    for node, family in zip(nodes, families, strict=True):
        clique = _smallest(cliques, set(family), sizes)
        index = _index(cliques[clique], family, sizes)
        table = tables[clique]
        tables[clique] = [entry * node.table[i] for entry, i in zip(table, index, strict=True)]
    return tables


def _edge(cliques: list[list[int]], child: int, parent: int, sizes: list[int]) -> dict[str, Any]:
    separator = sorted(set(cliques[child]) & set(cliques[parent]))
    return {
        "child": child,
        "parent": parent,
        "separator": separator,
        "size": _weight(set(separator), sizes),
        "child_index": _index(cliques[child], separator, sizes),
        "parent_index": _index(cliques[parent], separator, sizes),
    }


def _home(cliques: list[list[int]], variable: int, sizes: list[int]) -> dict[str, Any]:
    clique = _smallest(cliques, {variable}, sizes)
    return {"clique": clique, "index": _index(cliques[clique], [variable], sizes)}


def _index(clique: list[int], target: list[int], sizes: list[int]) -> list[int]:
    """For each entry of a table over `clique`, the entry of a table over `target` it falls into."""
    strides = dict(zip(target, _strides(target, sizes), strict=True))
    steps = [strides.get(variable, 0) for variable in clique]
    return [
        sum(state * step for state, step in zip(states, steps, strict=True))
        for states in product(*(range(sizes[variable]) for variable in clique))
    ]


def _strides(variables: list[int], sizes: list[int]) -> Iterator[int]:
    """How far apart neighbouring states of each variable lie in a flat table, last variable fastest."""
    for position in range(len(variables)):
        yield prod(sizes[variable] for variable in variables[position + 1 :])
