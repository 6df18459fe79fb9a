"""How many clean cycles prove a repair, what clean cycles still allow, and luck.

A cycle is one like the others: the same key or heat cycle that brought the fault on before. The counts hold
for the zero-failure demonstration of reliability handbooks (success run, binomial); texts that begin with a
uniform prior need one cycle fewer.
"""

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

NEARLY = 1e-9  # of a cycle: what rounding may add before a count is rounded up


def cycles_needed(reliability: float, confidence: float) -> int:
    """Clean cycles that show, with a confidence, that a cycle stays clean with a reliability: both 0 to 1.

    n = ln(1 − C)/ln R, rounded up.

    Raises:
        ValueError: a share that is not between 0 and 1.
    """
    _shares((reliability, confidence))
    return math.ceil(math.log(1 - confidence) / math.log(reliability) - NEARLY)


def still_possible(clean: float, confidence: float) -> float:
    """Largest chance a cycle that the fault shows which so many clean cycles allow: 1 − (1 − C)^(1/n).

    Raises:
        ValueError: no clean cycle, or a confidence that is not between 0 and 1.
    """
    _shares((confidence,))
    if _count(clean) < 1:
        raise ValueError("No clean cycle shows nothing.")
    return float(1 - (1 - confidence) ** (1 / clean))


def luck(rate: float, clean: float) -> float:
    """Chance that a fault which shows in a share of cycles stays away in so many: (1 − f)^n.

    Raises:
        ValueError: a share that is not between 0 and 1, or a negative count.
    """
    _shares((rate,))
    return float((1 - rate) ** _count(clean))


def luck_seen(failures: float, cycles: float, clean: float) -> float:
    """Chance that all failures fell before the repair by luck, had it changed nothing.

    Fisher's exact test, one-sided: C(m, k)/C(m + n, k) for k failures in m cycles, then n clean ones. It
    knows that k of m is a small sample, so it is larger than (1 − k/m)^n.

    Raises:
        ValueError: counts that cannot be.
    """
    if not 1 <= _count(failures) <= _count(cycles):
        raise ValueError("The fault showed at least once, and in no more cycles than there were.")
    chance = 1.0
    for index in range(int(failures)):
        chance *= (cycles - index) / (cycles + _count(clean) - index)
    return chance


def _shares(shares: "Iterable[float]") -> None:
    for share in shares:
        if not 0 < share < 1:
            raise ValueError("A reliability, a confidence and a share of cycles are above 0 and below 100 %.")


def _count(count: float) -> int:
    if count < 0 or count != int(count) or count > 100000:
        raise ValueError("A count of cycles is a whole number, 0 or more, below 100000.")
    return int(count)
