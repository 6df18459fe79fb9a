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

MESSAGE = 8  # entries of a table whose work is that of one message there and back; measured


@dataclass(frozen=True)
class Node:
    """One variable. The table is flat, in the order of parents then own state, the own state fastest."""

    name: str
    states: tuple[str, ...]
    table: tuple[float, ...]
    parents: tuple[str, ...] = ()
    kind: str = "variable"
    about: dict[str, Any] = field(default_factory=dict)  # what the screens need to know of it


def compile_network(
    nodes: Sequence[Node], questions: Sequence[tuple[str, Sequence[str]]] = ()
) -> dict[str, Any]:
    """The junction tree as JSON-able tables, as `pwa.engine.evidence.network` propagates in it.

    - `cliques`: `variables`, and a flat `table` over them, the last one fastest. The variables that a clique
      shares with its parent come first, so that a message up is a sum over blocks of the table.
    - `edges`, children before parents: `block` is the length of such a block; `index` says for each entry of
      the parent's table to which entry of the message it belongs.
    - `homes`: for each variable of the tree the smallest clique that holds it, and its stride there.
    - `leaves`: each variable that has parents and no children: its fold, and its table by columns, one for
      each state.
    - `folds`, shared by leaves with the same parents: the clique that holds them, and for each of its entries
      which of the `size` combinations of the parents' states it belongs to; `variable` is an only parent.
    - `questions`: a name, and the variables of which any makes it "yes"; they are no part of the tree.
    """
    leaves = _leaves(nodes)
    inner = [node for node in nodes if node.name not in leaves]
    place = {node.name: index for index, node in enumerate(inner)}
    families = [[place[name] for name in (*node.parents, node.name)] for node in inner]
    hanging = [[place[parent] for parent in node.parents] for node in leaves.values()]
    cliques, sizes = _graph(nodes)
    edges = _rooted(cliques, sizes)
    cliques = _separator_first(cliques, edges)
    tables = _tables(cliques, inner, families, sizes)
    numbers = {tuple(parents): n for n, parents in enumerate(dict.fromkeys(map(tuple, hanging)))}
    return {
        "variables": [
            {"name": node.name, "kind": node.kind, "states": list(node.states), **node.about}
            for node in nodes
        ],
        "cliques": [
            {"variables": [inner[variable].name for variable in clique], "table": _short(table)}
            for clique, table in zip(cliques, tables, strict=True)
        ],
        "edges": [_edge(cliques, child, parent, sizes) for child, parent in edges],
        "homes": {node.name: _home(cliques, index, sizes) for index, node in enumerate(inner)},
        "leaves": {
            node.name: _leaf(node, numbers[tuple(parents)])
            for node, parents in zip(leaves.values(), hanging, strict=True)
        },
        "folds": [_folding(cliques, list(parents), inner, sizes) for parents in numbers],
        "questions": [{"name": name, "any_of": list(causes)} for name, causes in questions],
    }


def entries(nodes: Sequence[Node]) -> int:
    """Entries of all the cliques' tables: what a pass through the junction tree takes."""
    cliques, sizes = _graph(nodes)
    return sum(_weight(set(clique), sizes) for clique in cliques)


def _graph(nodes: Sequence[Node]) -> tuple[list[list[int]], list[int]]:
    """The cliques by index of the variables that are no leaves, and how many states each of those has."""
    leaves = _leaves(nodes)
    inner = [node for node in nodes if node.name not in leaves]
    place = {node.name: index for index, node in enumerate(inner)}
    sizes = [len(node.states) for node in inner]
    families = [[place[name] for name in (*node.parents, node.name)] for node in inner]
    families += [[place[parent] for parent in node.parents] for node in leaves.values()]
    return _merged(_cliques(_moral(families, len(inner)), sizes), sizes), sizes


def _leaves(nodes: Sequence[Node]) -> dict[str, Node]:
    parents = {parent for node in nodes for parent in node.parents}
    return {node.name: node for node in nodes if node.parents and node.name not in parents}


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


def _merged(cliques: list[list[int]], sizes: list[int]) -> list[list[int]]:
    """Neighbours joined where their common table costs less than the message between them.

    Contracting edges of a junction tree leaves a junction tree.
    """
    pairs = _spanning(cliques)
    held = [set(clique) for clique in cliques]
    owner = list(range(len(cliques)))

    def growth(a: int, b: int) -> int:
        one, other = held[owner[a]], held[owner[b]]
        return _weight(one | other, sizes) - _weight(one, sizes) - _weight(other, sizes)

    for a, b in sorted(pairs, key=lambda pair: (growth(*pair), pair)):
        if growth(a, b) <= MESSAGE:
            kept, gone = owner[a], owner[b]
            held[kept] |= held[gone]
            owner = [kept if number == gone else number for number in owner]
    return [sorted(held[number]) for number in sorted(set(owner))]


def _fill(neighbours: list[set[int]], variable: int) -> int:
    return sum(b not in neighbours[a] for a, b in combinations(neighbours[variable], 2))


def _weight(variables: set[int], sizes: list[int]) -> int:
    return prod(sizes[variable] for variable in variables)


def _smallest(cliques: list[list[int]], wanted: set[int], sizes: list[int]) -> int:
    holding = [index for index, clique in enumerate(cliques) if wanted <= set(clique)]
    return min(holding, key=lambda index: (_weight(set(cliques[index]), sizes), index))


def _rooted(cliques: list[list[int]], sizes: list[int]) -> list[tuple[int, int]]:
    """(child, parent), children before parents, rooted where the parents' tables are smallest in all."""
    pairs = _spanning(cliques)

    def work(edges: list[tuple[int, int]]) -> int:
        return sum(_weight(set(cliques[parent]), sizes) for _, parent in edges)

    return min((_hung_from(root, pairs) for root in range(len(cliques))), key=work)


def _spanning(cliques: list[list[int]]) -> list[tuple[int, int]]:
    """A maximum spanning tree (Prim); among equal neighbours the smaller clique: it is cheaper to talk to."""
    shared = [[len(set(a) & set(b)) for b in cliques] for a in cliques]

    def nearness(clique: int, neighbour: int) -> tuple[int, int]:
        return shared[clique][neighbour], -len(cliques[neighbour])

    nearest = dict.fromkeys(range(1, len(cliques)), 0)
    pairs = []
    while nearest:
        chosen = max(nearest, key=lambda clique: (shared[clique][nearest[clique]], -clique))
        pairs.append((chosen, nearest.pop(chosen)))
        for clique, neighbour in nearest.items():
            if nearness(clique, chosen) > nearness(clique, neighbour):
                nearest[clique] = chosen
    return pairs


def _hung_from(root: int, pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    edges, reached, left = [], [root], pairs
    for parent in reached:
        here = [a if b == parent else b for a, b in left if parent in (a, b)]
        left = [pair for pair in left if parent not in pair]
        edges += [(child, parent) for child in here]
        reached += here
    return edges[::-1]


def _separator_first(cliques: list[list[int]], edges: list[tuple[int, int]]) -> list[list[int]]:
    parents = dict(edges)
    ordered = []
    for number, clique in enumerate(cliques):
        above = set(cliques[parents[number]]) if number in parents else set()
        ordered.append([v for v in clique if v in above] + [v for v in clique if v not in above])
    return ordered


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
    shared = [variable for variable in cliques[child] if variable in cliques[parent]]
    index = _index(cliques[parent], shared, sizes)
    return {
        "child": child,
        "parent": parent,
        "block": _weight(set(cliques[child]), sizes) // _weight(set(shared), sizes),
        "index": index,
    }


def _home(cliques: list[list[int]], variable: int, sizes: list[int]) -> dict[str, int]:
    number = _smallest(cliques, {variable}, sizes)
    strides = dict(zip(cliques[number], _strides(cliques[number], sizes), strict=True))
    return {"clique": number, "stride": strides[variable]}


def _leaf(node: Node, fold: int) -> dict[str, Any]:
    count = len(node.states)
    return {"fold": fold, "columns": [_short(node.table[state::count]) for state in range(count)]}


def _short(table: Sequence[float]) -> list[float]:
    """Without the digits beyond the twelfth, which are noise and take a third of the room."""
    return [float(f"{entry:.12g}") for entry in table]


def _folding(
    cliques: list[list[int]], parents: list[int], nodes: Sequence[Node], sizes: list[int]
) -> dict[str, Any]:
    number = _smallest(cliques, set(parents), sizes)
    index = _index(cliques[number], parents, sizes)
    only = nodes[parents[0]].name if len(parents) == 1 else ""
    size = _weight(set(parents), sizes)
    return {"clique": number, "index": index, "size": size, "variable": only}


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
