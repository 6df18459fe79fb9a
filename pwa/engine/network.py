"""Exact inference in the compiled fault model: two passes over its junction tree, without a division.

Messages as in Shafer and Shenoy 1990: what a clique tells its neighbour is its table times what all its other
neighbours tell it, summed over what the two do not share. Nothing is ever divided, so a table full of zeros
does no harm, and what a neighbour would hear without one answer stays known (see `Pass.without`).

A variable that nothing depends on (a finding) is no part of the tree. It hangs as a leaf on the clique that
holds its parents: unanswered it costs nothing, answered it is a factor on that clique.

The questions (`any-electrical` and the like) are no part of the tree either, because they would tie all their
causes together: "none of these causes" is evidence, and its probability answers them.
"""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any

    Model = dict[str, Any]
    Evidence = dict[str, str]
    Table = list[float]
    # What was multiplied into a clique: entry of the clique -> entry of the message, message, who sent it.
    Heard = tuple[list[int], Table, tuple[str, Any]]


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
        none = tree.probability(question["any_of"]) / total
        marginals[question["name"]] = [none, max(1 - none, 0.0)]
    return {"probability": total, "marginals": marginals}


class Tree:
    """A junction tree, and what is known. All numbers that come out are joint with what is known."""

    def __init__(self, model: "Model") -> None:
        self.edges = model["edges"]  # children before parents
        self.homes = model["homes"]
        self.leaves = model["leaves"]
        self.tables: list[Table] = [clique["table"] for clique in model["cliques"]]
        self.states = {variable["name"]: variable["states"] for variable in model["variables"]}
        self.known: dict[str, int] = {}  # leaf -> number of its state

    def enter(self, evidence: "Evidence") -> None:
        """Sets variables to states, on top of what is known already."""
        for name, state in evidence.items():
            if name not in self.states:
                raise ValueError(f"The model has no variable {name!r}.")
            if state not in self.states[name]:
                known = ", ".join(self.states[name])
                raise ValueError(f"{name} has no state {state!r}; it knows {known}.")
            number = self.states[name].index(state)
            if name in self.leaves:
                self.known[name] = number
            else:
                self._keep(self.tables, name, number)

    def probability(self, none_of: "list[str]") -> float:
        """P(none of these causes, what is known)."""
        return Pass(self, none_of).total

    def propagate(
        self, none_of: "tuple[str, ...] | list[str]" = (), leaves: "list[str] | None" = None
    ) -> "Pass":
        """Both passes, under the assumption that none of these causes is there.

        Args:
            leaves: the only ones that will be asked for; None if anything may be.
        """
        done = Pass(self, none_of)
        done.distribute(None if leaves is None else set(leaves))
        return done

    def assuming(self, none_of: "tuple[str, ...] | list[str]") -> "tuple[list[Table], dict[str, int]]":
        """Tables and known leaves when these causes are in their first state."""
        tables, known = self.tables[:], self.known
        for name in none_of:
            if name in self.leaves:
                known = known.copy()
                known[name] = 0
            else:
                self._keep(tables, name, 0)
        return tables, known

    def _keep(self, tables: "list[Table]", name: str, state: int) -> None:
        home = self.homes[name]
        table, stride = tables[home["clique"]], home["stride"]
        block = stride * len(self.states[name])
        zeros = [0.0] * stride
        kept: Table = []
        for start in range(0, len(table), block):
            for here in range(start, start + block, stride):
                kept += table[here : here + stride] if here == start + state * stride else zeros
        tables[home["clique"]] = kept


class Pass:
    """The messages of one propagation. `total` is the probability of what is known and assumed."""

    def __init__(self, tree: Tree, none_of: "tuple[str, ...] | list[str]") -> None:
        self._tree = tree
        tables, self._known = tree.assuming(none_of)
        self._heard: list[list[Heard]] = [[] for _ in tables]
        # For each clique its table, then the same times each message heard, one after the other.
        self._steps: list[list[Table]] = [[table] for table in tables]
        self._above: list[Table] = [[] for _ in tables]  # what each clique hears from its parent
        self._beliefs: list[Table] = [[] for _ in tables]
        self._rows: dict[str, Table] = {}
        for name, state in self._known.items():
            leaf = tree.leaves[name]
            self._hear(leaf["clique"], leaf["index"], leaf["columns"][state], ("leaf", name))
        for edge in tree.edges:
            block = edge["block"]
            table = self._steps[edge["child"]][-1]
            message = [sum(table[k : k + block]) for k in range(0, len(table), block)]
            self._hear(edge["parent"], edge["index"], message, ("clique", edge["child"]))
        root = tree.edges[-1]["parent"] if tree.edges else 0
        self.total = float(sum(self._steps[root][-1]))

    def _hear(self, clique: int, index: "list[int]", message: "Table", sender: "tuple[str, Any]") -> None:
        steps = self._steps[clique]
        steps.append(_times(steps[-1], index, message))
        self._heard[clique].append((index, message, sender))

    def distribute(self, leaves: "set[str] | None") -> None:
        """Sends the messages from the root outwards, and to each known leaf what all others say to it."""
        tree = self._tree
        asked = [leaves is None] * len(self._steps)
        for name in leaves or []:
            asked[tree.leaves[name]["clique"]] = True
        for edge in tree.edges:
            if asked[edge["child"]]:
                asked[edge["parent"]] = True
        root = tree.edges[-1]["parent"] if tree.edges else 0
        self._speak(root, [1.0] * len(self._steps[root][0]), asked, leaves)
        for edge in reversed(tree.edges):
            child, block = edge["child"], edge["block"]
            if asked[child]:
                above = [p for p in self._above[child] for _ in range(block)]
                self._speak(child, above, asked, leaves)

    def _speak(self, clique: int, above: "Table", asked: "list[bool]", leaves: "set[str] | None") -> None:
        """Tells each child that is asked for, and each known leaf, what all others say."""
        steps, heard = self._steps[clique], self._heard[clique]
        self._above[clique] = above
        first = 0
        while first < len(heard) and not _wanted(heard[first][2], asked, leaves):
            first += 1
        for place in range(len(heard) - 1, first - 1, -1):
            index, message, (kind, who) = heard[place]
            if _wanted((kind, who), asked, leaves):
                answer = _folded(steps[place], above, index, len(message))
                if kind == "leaf":
                    self._rows[who] = answer
                else:
                    self._above[who] = answer
            if place > first:
                above = _times(above, index, message)

    def joint(self, name: str) -> "Table":
        """P(each state of the variable, what is known and assumed)."""
        tree = self._tree
        if name in tree.leaves:
            if name in self._known:
                here = self.without(name)
                return [here[k] if k == self._known[name] else 0.0 for k in range(len(here))]
            return self.without(name)
        home = tree.homes[name]
        belief = self._belief(home["clique"])
        stride, count = home["stride"], len(tree.states[name])
        found = [0.0] * count
        for start in range(0, len(belief), stride):
            found[start // stride % count] += sum(belief[start : start + stride])
        return found

    def without(self, name: str) -> "Table":
        """As `joint` of a leaf, if all else were known and assumed but not the leaf itself."""
        leaf = self._tree.leaves[name]
        rows = self._rows.get(name)
        if rows is None:
            whole, above = self._steps[leaf["clique"]][-1], self._above[leaf["clique"]]
            rows = _folded(whole, above, leaf["index"], len(leaf["columns"][0]))
        return [sum([rows[k] * column[k] for k in range(len(rows))]) for column in leaf["columns"]]

    def _belief(self, clique: int) -> "Table":
        if not self._beliefs[clique]:
            whole, above = self._steps[clique][-1], self._above[clique]
            self._beliefs[clique] = [whole[k] * above[k] for k in range(len(whole))]
        return self._beliefs[clique]


def _wanted(sender: "tuple[str, Any]", asked: "list[bool]", leaves: "set[str] | None") -> bool:
    kind, who = sender
    return bool(asked[who]) if kind == "clique" else leaves is None or who in leaves


# Loops over range, because zip makes MicroPython twice as slow.


def _times(table: "Table", index: "list[int]", message: "Table") -> "Table":
    return [table[k] * message[index[k]] for k in range(len(table))]


def _folded(left: "Table", right: "Table", index: "list[int]", size: int) -> "Table":
    out = [0.0] * size
    for k in range(len(left)):
        out[index[k]] += left[k] * right[k]
    return out
