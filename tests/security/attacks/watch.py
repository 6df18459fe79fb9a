"""Asks a server under attack, all the while, whether it is well; and another server that is left in peace.

The machine may be busy with other things, so a server's answers are held against those that the other one
gave at the same moments: what both wait for is the machine's doing.
"""

import http.client
import threading
import time
from typing import Self

AIM = 0.5  # seconds until `/health` answers, on a machine that does nothing else
EVERY = 0.05
GIVEN_UP = 60.0


class Watch:
    """`with Watch(attacked, in_peace) as watch:` attack; afterwards `watch.insist()`."""

    def __init__(self, attacked: int, in_peace: int) -> None:
        self.times: dict[int, list[float]] = {attacked: [], in_peace: []}
        self._attacked, self._in_peace = attacked, in_peace
        self._over = threading.Event()
        self._threads = [threading.Thread(target=self._ask, args=(port,)) for port in self.times]

    def __enter__(self) -> Self:
        for thread in self._threads:
            thread.start()
        time.sleep(3 * EVERY)
        return self

    def __exit__(self, *error: object) -> None:
        time.sleep(3 * EVERY)
        self._over.set()
        for thread in self._threads:
            thread.join()

    def _ask(self, port: int) -> None:
        while not self._over.wait(EVERY):
            begun = time.monotonic()
            try:
                is_well = health(port) == 200
            except OSError:
                is_well = False
            self.times[port].append(time.monotonic() - begun if is_well else GIVEN_UP)

    @property
    def worst(self) -> float:
        return max(self.times[self._attacked])

    @property
    def usual(self) -> float:
        return max(self.times[self._in_peace])

    def insist(self) -> None:
        """The attacked server answered about as soon as the other one."""
        assert self.worst < AIM + 4 * self.usual, (self.worst, self.usual)


def health(port: int) -> int:
    """The status of one answer, on a connection of its own."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=GIVEN_UP)
    try:
        connection.request("GET", "/health")
        return connection.getresponse().status
    finally:
        connection.close()
