"""Who waits for whom: each kind of work has a few threads of its own, so none fills the places of another.

Threads take turns of some milliseconds, so few of them also keep what is short from waiting long.
"""

import functools
from collections.abc import Callable
from typing import ParamSpec, TypeVar

from anyio import CapacityLimiter, to_thread

P = ParamSpec("P")
T = TypeVar("T")


class Turn:
    """Places for one kind of work; what comes when all are taken waits, and holds nothing up meanwhile."""

    def __init__(self, places: int) -> None:
        self._limiter = CapacityLimiter(places)

    async def __call__(self, work: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
        return await to_thread.run_sync(functools.partial(work, *args, **named), limiter=self._limiter)


class Turns:
    def __init__(self) -> None:
        self.health = Turn(1)
        self.secrets = Turn(4)  # of passphrases, which take long on purpose
        self.merges = Turn(4)  # of what phones send
        self.pages = Turn(4)  # of the desk
        self.files = Turn(2)  # of jobs, taken in or given out
