"""Noisy-OR and noisy-MAX tables, with parents divorced so that no table grows.

An effect takes the greatest of what each active cause brings about on its own and of what shows with
nothing wrong (the leak). A maximum can be taken two at a time: helper variables carry the maximum of the
causes so far, and each table has at most `MOST` parents.

Sources: Pearl 1988 (noisy-OR); Henrion 1989 (leak); Diez 1993 (noisy-MAX); Olesen et al. 1989 (divorcing).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, product
from typing import Any

from pwa.build.model.tree import Node

NO_YES = ("no", "yes")
MOST = 5  # parents a table: helpers cost cliques, wide tables cost entries; least work on the phone at 5


@dataclass(frozen=True)
class Effect:
    """A variable and its causes. Each list has, for every state but the first, how often it is brought about.

    The leak is not part of a cause's own numbers: with one cause active and two states, the effect shows
    with 1 - (1 - leak)(1 - own).
    """

    name: str
    states: tuple[str, ...]
    causes: dict[str, list[float]]
    leak: list[float]
    kind: str
    about: dict[str, Any]


def nodes(effect: Effect) -> list[Node]:
    """The effect's own node last, before it the helpers it needs."""
    causes, before = list(effect.causes), ""
    made: list[Node] = []
    while len(causes) > MOST - bool(before):
        taken = causes[: MOST - bool(before)]
        causes = causes[len(taken) :]
        helper = f"{effect.name}--{len(made) + 1}"
        made.append(_node(helper, effect, before, taken, [0.0] * len(effect.leak), "helper", {}))
        before = helper
    made.append(_node(effect.name, effect, before, causes, effect.leak, effect.kind, effect.about))
    return made


def any_of(name: str, parents: Sequence[str]) -> list[Node]:
    """A variable that is "yes" as soon as one parent is, and "no" without parents."""
    sure = Effect(name, NO_YES, {parent: [1.0] for parent in parents}, [0.0], "question", {})
    return nodes(sure)


def _node(
    name: str,
    effect: Effect,
    before: str,
    causes: list[str],
    leak: list[float],
    kind: str,
    about: dict[str, Any],
) -> Node:
    """One table: the maximum of the helper before, the causes' contributions and the leak."""
    count = len(effect.states)
    table: list[float] = []
    for states in product(*([range(count)] if before else []), *(range(2) for _ in causes)):
        active = [
            effect.causes[cause] for cause, on in zip(causes, states[bool(before) :], strict=True) if on
        ]
        at_most = [_at_most(contribution) for contribution in [*active, leak]]
        if before:
            at_most.append([float(state >= states[0]) for state in range(count)])
        table += _from_cumulative([_product(column) for column in zip(*at_most, strict=True)])
    parents = ([before] if before else []) + causes
    return Node(name, effect.states, tuple(table), tuple(parents), kind, about)


def _at_most(contribution: list[float]) -> list[float]:
    """P(contribution <= state) for each state, the first one being "nothing brought about"."""
    return [*accumulate([1.0 - sum(contribution), *contribution[:-1]]), 1.0]


def _product(numbers: Sequence[float]) -> float:
    total = 1.0
    for number in numbers:
        total *= number
    return total


def _from_cumulative(at_most: list[float]) -> list[float]:
    return [max(0.0, high - low) for low, high in zip([0.0, *at_most], at_most, strict=False)]
