"""Exact inference in the compiled fault model: beliefs passed along its junction tree.

Each clique holds a table, its belief. A clique tells its neighbour its belief summed over what the two do not
share; the neighbour multiplies by how much that changed since the last time it was told (Jensen, Lauritzen
and Olesen 1990). 0/0 counts as 0: what was impossible stays so, and nothing is divided by zero. Once the
beliefs agree, something further that is assumed (`Pass.vary`) costs little more than one round from where it
enters.

A variable that nothing depends on (a finding) is no part of the tree. It hangs as a leaf on a clique that
holds its parents: unanswered it costs nothing, answered it is a factor on that clique. Leaves with the same
parents share one sum over the clique, a fold.

The questions (`any-electrical` and the like) are no part of the tree either, because they would tie all their
causes together: "none of these causes" is evidence, and its probability answers them.
"""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any

    Model = dict[str, Any]
    # Variable -> its state; or, where a reading is not sure, how likely it is under each state (Pearl 1988,
    # virtual evidence).
    Evidence = dict[str, str | dict[str, float]]
    Table = list[float]
    Weights = dict[str, Table]  # variable -> a factor for each of its states


class Posteriors(TypedDict):
    """P(evidence), and for each variable and question the probabilities of its states given the evidence."""

    probability: float
    marginals: "dict[str, list[float]]"


def posteriors(model: "Model", evidence: "Evidence") -> Posteriors:
    """Posterior probabilities of everything, in the order of the states.

    Raises:
        ValueError: a variable or state the model does not know, or evidence that it holds to be impossible.
    """
    tree = Tree(model)
    tree.enter(evidence)
    whole = tree.propagate()
    total = whole.total
    if total <= 0:
        raise ValueError("These answers contradict each other: no cause explains them. Check them again.")
    marginals = {}
    for variable in model["variables"]:
        marginals[variable["name"]] = [p / total for p in whole.joint(variable["name"])]
    for question in model["questions"]:
        none_of = whole.probability(none(question["any_of"])) / total
        marginals[question["name"]] = [none_of, max(1 - none_of, 0.0)]
    return {"probability": total, "marginals": marginals}


def none(causes: "list[str]") -> "Weights":
    """Factors that rule these causes out."""
    return {cause: [1.0, 0.0] for cause in causes}


class Tree:
    """A junction tree, and what is known. All numbers that come out are joint with what is known."""

    def __init__(self, model: "Model") -> None:
        self.model = model
        self.edges = model["edges"]  # children before parents
        self.homes = model["homes"]
        self.leaves = model["leaves"]
        self.folds = model["folds"]
        self.tables: list[Table] = [clique["table"] for clique in model["cliques"]]
        self.states = {variable["name"]: variable["states"] for variable in model["variables"]}
        self.known: Weights = {}

    def enter(self, evidence: "Evidence") -> None:
        """Sets what is known of variables; what was known of them before is forgotten.

        Raises:
            ValueError: a variable or state the model does not know, or a likelihood below zero.
        """
        for name, said in evidence.items():
            self.known[name] = self._factors(name, said)

    def propagate(self) -> "Pass":
        """Beliefs that agree with each other and with what is known."""
        cliques = range(len(self.tables))
        start = Pass(self, self.tables, [None] * len(self.edges), {})
        return start.absorb(self.known, [True for _ in cliques], None)

    def without(self, name: str) -> "Tree":
        """The same, with this variable not known."""
        other = Tree(self.model)
        other.known = {key: factors for key, factors in self.known.items() if key != name}
        return other

    def _factors(self, name: str, said: "str | dict[str, float]") -> "Table":
        if name not in self.states:
            raise ValueError(f"The model has no variable {name!r}.")
        states = self.states[name]
        likely = {said: 1.0} if isinstance(said, str) else said
        for state, likelihood in likely.items():
            if state not in states:
                raise ValueError(f"{name} has no state {state!r}; it knows {', '.join(states)}.")
            if not 0 <= likelihood < 1e9:
                raise ValueError(f"{name}: the likelihood of {state!r} is {likelihood}; it lies from 0 up.")
        return [float(likely.get(state, 0.0)) for state in states]


class Pass:
    """Beliefs that agree. `total` is the probability of what is known and assumed."""

    def __init__(
        self, tree: Tree, beliefs: "list[Table]", shared: "list[Table | None]", assumed: "Weights"
    ) -> None:
        self._tree, self._beliefs, self._assumed = tree, beliefs, assumed
        self._shared = shared  # for each edge what its two cliques have agreed on; None is all ones
        self._folded: dict[int, Table] = {}
        root = tree.edges[-1]["parent"] if tree.edges else 0
        self.total = float(sum(beliefs[root]))

    def vary(self, weights: "Weights", leaves: "list[str] | None" = None) -> "Pass":
        """The beliefs with further factors on the states of some variables; see `none`.

        Args:
            leaves: the only ones that will be asked for; None if anything may be.
        """
        return self.absorb(weights, [False for _ in self._beliefs], leaves)

    def probability(self, weights: "Weights") -> float:
        """P(what is known and assumed, and these weights), at half the work of `vary`."""
        return self.absorb(weights, [False for _ in self._beliefs], []).total

    def absorb(self, weights: "Weights", told: "list[bool]", leaves: "list[str] | None") -> "Pass":
        """Multiplies the factors in, and sends what changed to the root and back to the `leaves`' cliques.

        Args:
            told: the cliques that have something new to tell; those of the weights are added.
        """
        tree, beliefs, shared = self._tree, self._beliefs[:], self._shared[:]
        for name, factors in weights.items():
            clique = self._weigh(beliefs, name, factors)
            told[clique] = True
        for n in range(len(tree.edges)):
            edge = tree.edges[n]
            child, parent = edge["child"], edge["parent"]
            if told[child]:
                said = _summed(beliefs[child], edge["block"])
                ratio = _ratio(said, shared[n])
                index, table = edge["index"], beliefs[parent]
                beliefs[parent] = [table[k] * ratio[index[k]] for k in range(len(table))]
                shared[n], told[parent] = said, True
        wanted = self._wanted(leaves)
        for n in range(len(tree.edges) - 1, -1, -1):
            edge = tree.edges[n]
            child, block = edge["child"], edge["block"]
            if wanted[child]:
                before = shared[n]
                said = _fold(beliefs[edge["parent"]], edge["index"], len(beliefs[child]) // block)
                ratio = _ratio(said, before)
                table = beliefs[child]
                beliefs[child] = [table[k] * ratio[k // block] for k in range(len(table))]
                shared[n] = said
        assumed = self._assumed.copy()
        assumed.update(weights)
        return Pass(tree, beliefs, shared, assumed)

    def joint(self, name: str) -> "Table":
        """P(each state of the variable, what is known and assumed)."""
        tree = self._tree
        if name in tree.leaves:
            here = self.without(name)
            factors = tree.known.get(name)
            return here if factors is None else [here[k] * factors[k] for k in range(len(here))]
        home = tree.homes[name]
        belief, stride, count = self._beliefs[home["clique"]], home["stride"], len(tree.states[name])
        found = [0.0] * count
        for start in range(0, len(belief), stride):
            found[start // stride % count] += sum(belief[start : start + stride])
        return found

    def without(self, name: str) -> "Table":
        """As `joint`, if all else were known and assumed but not this leaf itself."""
        tree = self._tree
        leaf, rows = tree.leaves[name], self._rows(tree.leaves[name]["fold"])
        if name in tree.known:
            own = _mixed(leaf["columns"], tree.known[name])
            if min(own) <= 0:  # it ruled something out, so what was there is lost: worked out anew
                anew = {key: factors for key, factors in self._assumed.items() if key not in tree.known}
                return tree.without(name).propagate().vary(anew).without(name)
            rows = [rows[k] / own[k] for k in range(len(rows))]
        return [sum([rows[k] * column[k] for k in range(len(rows))]) for column in leaf["columns"]]

    def _rows(self, number: int) -> "Table":
        """The belief over the parents of the leaves that hang on this fold."""
        if number not in self._folded:
            fold = self._tree.folds[number]
            if fold["variable"]:
                self._folded[number] = self.joint(fold["variable"])
            else:
                self._folded[number] = _fold(self._beliefs[fold["clique"]], fold["index"], fold["size"])
        return self._folded[number]

    def _weigh(self, beliefs: "list[Table]", name: str, factors: "Table") -> int:
        """Multiplies one variable's factors into the belief of its clique, and says which that is."""
        tree = self._tree
        if name in tree.leaves:
            leaf = tree.leaves[name]
            fold = tree.folds[leaf["fold"]]
            clique, index, own = fold["clique"], fold["index"], _mixed(leaf["columns"], factors)
            table = beliefs[clique]
            beliefs[clique] = [table[k] * own[index[k]] for k in range(len(table))]
        else:
            home = tree.homes[name]
            clique, stride, count = home["clique"], home["stride"], len(factors)
            table = beliefs[clique]
            beliefs[clique] = [table[k] * factors[k // stride % count] for k in range(len(table))]
        return int(clique)

    def _wanted(self, leaves: "list[str] | None") -> "list[bool]":
        tree = self._tree
        wanted = [leaves is None] * len(self._beliefs)
        for name in leaves or []:
            leaf = tree.leaves.get(name)
            home = tree.folds[leaf["fold"]] if leaf else tree.homes[name]
            wanted[home["clique"]] = True
        for edge in tree.edges:
            if wanted[edge["child"]]:
                wanted[edge["parent"]] = True
        return wanted


# Loops over range, because zip makes MicroPython twice as slow.


def _mixed(columns: "list[Table]", factors: "Table") -> "Table":
    """The columns of a leaf's table, each times its factor, added up."""
    sure = [k for k in range(len(factors)) if factors[k] > 0]
    if len(sure) == 1 and factors[sure[0]] == 1.0:
        return columns[sure[0]]
    return [sum([factors[k] * columns[k][row] for k in sure]) for row in range(len(columns[0]))]


def _summed(table: "Table", block: int) -> "Table":
    return [sum(table[k : k + block]) for k in range(0, len(table), block)]


def _fold(table: "Table", index: "list[int]", size: int) -> "Table":
    out = [0.0] * size
    for k in range(len(table)):
        out[index[k]] += table[k]
    return out


def _ratio(now: "Table", before: "Table | None") -> "Table":
    if before is None:
        return now
    return [now[k] / before[k] if before[k] else 0.0 for k in range(len(now))]
