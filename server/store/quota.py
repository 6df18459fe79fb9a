"""How much one phone may write: more than any person does, and too little to fill the shop.

A phone that comes for the first time with a year of notes brings them at once. After that it may bring a
record each second, day and night. Kept in memory: a restart forgives.
"""

import threading
from typing import NamedTuple

from server.errors import Refused

AT_ONCE = 40_000  # records: 160 on each working day of a year
EACH_SECOND = 1.0
LARGE = 16 * 1024  # characters that count as one more record


class Spent(NamedTuple):
    records: float
    at: int  # ms


class Quota:
    """A bucket for each phone, which empties with time (a token bucket, seen from its other side)."""

    def __init__(self) -> None:
        self._spent: dict[str, Spent] = {}
        self._lock = threading.Lock()

    def insist(self, device: str, now: int) -> None:
        """Raises Refused (429), with how long to wait, when this phone has written too much."""
        with self._lock:
            beyond = self._left(device, now) - AT_ONCE
        if beyond >= 0:
            seconds = int(beyond / EACH_SECOND) + 1
            raise Refused(429, "too_much", _words(seconds), {"Retry-After": str(seconds)})

    def count(self, device: str, records: int, size: float, now: int) -> None:
        """So many new ones were kept, of so many characters each; what was here already costs nothing."""
        with self._lock:
            self._spent[device] = Spent(self._left(device, now) + records * (1 + size // LARGE), now)

    def _left(self, device: str, now: int) -> float:
        spent = self._spent.get(device, Spent(0, now))
        return max(0.0, spent.records - max(0, now - spent.at) / 1000 * EACH_SECOND)


def _words(seconds: int) -> str:
    return (
        "This phone has sent more than a person writes, so the shop's server takes the next of it in"
        f" {-(-seconds // 60)} minutes. Everything stays safe on this phone. Tell the desk."
    )
