"""Exact inference in the compiled fault model: collect and distribute in its junction tree.

Messages as in Lauritzen and Spiegelhalter 1988: every clique sends its parent the sum of its table over
what they do not share; on the way back each child gets the parent's table divided by what it had sent.
All tables are flat lists; the build has worked out which entry belongs to which entry of a separator.
"""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any

    Model = dict[str, Any]
    Evidence = dict[str, str]
    Tables = list[list[float]]


class Posteriors(TypedDict):
    """P(evidence), and for each variable the probabilities of its states given the evidence."""

    probability: float
    marginals: "dict[str, list[float]]"


def posteriors(model: "Model", evidence: "Evidence") -> Posteriors:
    """Posterior probabilities of every variable in the order of its states.

    Raises ValueError for a variable or state the model does not know, and for evidence that the model
    holds to be impossible.
    """
    tree = Tree(model)
    tree.enter(evidence)
    total = tree.collect()
    if total <= 0:
        raise ValueError("These answers contradict each other: no cause explains them. Check them again.")
    tree.distribute()
    marginals = {}
    for variable in model["variables"]:
        marginals[variable["name"]] = [p / total for p in tree.joint(variable["name"])]
    return {"probability": total, "marginals": marginals}


class Tree:
    """One junction tree with evidence in it. `enter`, `collect` and `distribute` in this order.

    All numbers are joint with the evidence: divide by what `collect` returns to get probabilities.
    """

    def __init__(self, model: "Model") -> None:
        self._edges = model["edges"]
        self._homes = model["homes"]
        self._names = {variable["name"]: n for n, variable in enumerate(model["variables"])}
        self._states = [variable["states"] for variable in model["variables"]]
        self._potentials: Tables = [clique["table"] for clique in model["cliques"]]
        self._root = self._edges[-1]["parent"] if self._edges else 0
        self._up: Tables = [[] for _ in self._potentials]  # each clique's message to its parent
        self._inward: Tables = []  # potential times the children's messages
        self._full: Tables = []  # the same times the parent's message

    def enter(self, evidence: "Evidence") -> None:
        """Sets variables to states, on top of what is entered already."""
        for name, state in evidence.items():
            clique, index, known = self._find(name, state)
            self._potentials[clique] = _keep(self._potentials[clique], index, known)

    def collect(self) -> float:
        """Sends all messages to the root; returns the probability of the evidence."""
        inward = self._potentials[:]
        for edge in self._edges:
            child, parent = edge["child"], edge["parent"]
            message = _sum(inward[child], edge["child_index"], edge["size"])
            self._up[child] = message
            inward[parent] = _times(inward[parent], edge["parent_index"], message)
        self._inward = inward
        return float(sum(inward[self._root]))

    def at_root(self, name: str) -> "list[float]":
        """P(each state, evidence) of a variable of the root, known as soon as collected."""
        number = self._number(name)
        home = self._homes[number]
        if home["clique"] != self._root:
            raise ValueError(f"{name} does not lie in the root of the tree.")
        return _sum(self._inward[self._root], home["index"], len(self._states[number]))

    def distribute(self, name: str = "", state: str = "") -> None:
        """Sends all messages back, under the assumption that a variable of the root has that state."""
        full = self._inward[:]
        if name:
            clique, index, known = self._find(name, state)
            if clique != self._root:
                raise ValueError(f"{name} does not lie in the root of the tree.")
            full[clique] = _keep(full[clique], index, known)
        for edge in reversed(self._edges):
            child = edge["child"]
            message = _sum(full[edge["parent"]], edge["parent_index"], edge["size"])
            message = [p / sent if sent else 0.0 for p, sent in zip(message, self._up[child])]
            full[child] = _times(full[child], edge["child_index"], message)
        self._full = full

    def joint(self, name: str) -> "list[float]":
        """P(each state of the variable, evidence), once distributed."""
        number = self._number(name)
        home = self._homes[number]
        return _sum(self._full[home["clique"]], home["index"], len(self._states[number]))

    def _find(self, name: str, state: str) -> "tuple[int, list[int], int]":
        """Home clique of a variable, the state at each of its entries, and the number of that state."""
        number = self._number(name)
        if state not in self._states[number]:
            known = ", ".join(self._states[number])
            raise ValueError(f"{name} has no state {state!r}; it knows {known}.")
        home = self._homes[number]
        return home["clique"], home["index"], self._states[number].index(state)

    def _number(self, name: str) -> int:
        if name not in self._names:
            raise ValueError(f"The model has no variable {name!r}.")
        return int(self._names[name])


def _sum(table: "list[float]", index: "list[int]", size: int) -> "list[float]":
    out = [0.0] * size
    for p, i in zip(table, index):
        out[i] += p
    return out


def _times(table: "list[float]", index: "list[int]", message: "list[float]") -> "list[float]":
    return [p * message[i] for p, i in zip(table, index)]


def _keep(table: "list[float]", index: "list[int]", state: int) -> "list[float]":
    return [p if i == state else 0.0 for p, i in zip(table, index)]
