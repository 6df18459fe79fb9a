"""What a calculation says of itself: its inputs, limits and outcomes. The build holds content to it."""

from collections import namedtuple
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from typing import NamedTuple

    from pwa.engine.measures.verdict import Values, Verdict

    class Input(NamedTuple):
        """One value that a calculation reads: a number, one of `choices`, or rows of (key, quantity)."""

        key: str
        quantity: str  # as `units` names it; the value comes in SI
        choices: tuple[str, ...]
        columns: tuple[tuple[str, str], ...]  # in the order of the numbers of a row
        optional: bool  # the calculation does without

    class Calculation(NamedTuple):
        run: Callable[[Values, Values], Verdict]
        inputs: tuple[Input, ...]
        limits: dict[str, str]  # key -> the unit in which the calculation takes it
        outcomes: tuple[str, ...]  # beside "", which any may answer

else:
    Input = namedtuple("Input", ("key", "quantity", "choices", "columns", "optional"))
    Calculation = namedtuple("Calculation", ("run", "inputs", "limits", "outcomes"))


def number(key: str, quantity: str) -> Input:
    return Input(key, quantity, (), (), False)


def maybe(key: str, quantity: str) -> Input:
    """A number that the calculation does without."""
    return Input(key, quantity, (), (), True)


def choice(key: str, choices: "Iterable[str]") -> Input:
    return Input(key, "", tuple(choices), (), False)


def rows(key: str, *columns: "tuple[str, str]") -> Input:
    """Rows of numbers, each column a key and a quantity."""
    return Input(key, "", (), columns, False)
