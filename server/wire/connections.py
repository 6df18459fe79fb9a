"""Connections that keep the server waiting: how long they may, and how many.

uvicorn has a time limit for the pause between two requests, and none until a request's head is whole.
"""

import asyncio
import os
import socket
from collections.abc import Iterable
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_SECONDS = 10.0  # until the head of a request is whole, from the connection's or the last answer's end on
LINGER_SECONDS = 120.0  # that the last of an answer may still take to be fetched
MOST = 400  # connections; systemd lets a service open 1,024 files
AT_ONCE = 100  # that are accepted in one pass of the event loop
QUEUE = 2048  # that the system keeps until then


class Open:
    """The open connections of one server, each group from the one that came into it first."""

    def __init__(self) -> None:
        self.without_head: dict[Limited, None] = {}
        self.with_head: dict[Limited, None] = {}

    def __call__(self, **given: Any) -> "Limited":
        """What uvicorn calls for each new connection."""
        return Limited(self, **given)

    def note(self, connection: "Limited") -> None:
        group, other = self.without_head, self.with_head
        if not connection.waits_for_head:
            group, other = other, group
        other.pop(connection, None)
        group.setdefault(connection)

    def forget(self, connection: "Limited") -> None:
        self.without_head.pop(connection, None)
        self.with_head.pop(connection, None)

    def make_room(self) -> None:
        """Who has waited the longest in the larger group gives way when there are too many."""
        if len(self.without_head) + len(self.with_head) <= MOST:
            return
        slow = (each for each in self.with_head if each.is_slow)
        is_held_by_heads = len(self.without_head) > len(self.with_head)
        longest = next(iter(self.without_head) if is_held_by_heads else slow, None)
        if longest:
            self.forget(longest)
            longest.transport.abort()


class Limited(H11Protocol):
    """uvicorn's protocol for HTTP/1.1 with a time limit until a request's head is whole."""

    def __init__(self, open: Open, **given: Any) -> None:
        super().__init__(**given)
        self._open = open
        self._timer: asyncio.TimerHandle | None = None

    @property
    def waits_for_head(self) -> bool:
        return self.cycle is None or self.cycle.response_complete

    @property
    def is_slow(self) -> bool:
        """Whether the rest of its request is missing, or it does not fetch its answer."""
        return self.cycle.more_body or self.flow.write_paused

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._look()
        # What has been sent already is read in the next pass of the event loop, so that it does not wait.
        self.loop.call_soon(self.loop.call_soon, self._open.make_room)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._look()

    def on_response_complete(self) -> None:
        self._stop_timer()
        super().on_response_complete()
        self._look()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_timer()
        self._open.forget(self)
        super().connection_lost(exc)

    def _look(self) -> None:
        """Count the time from when a head is waited for until it is whole; no byte begins anew."""
        if self.transport.is_closing():
            return
        self._open.note(self)
        if not self.waits_for_head:
            self._stop_timer()
        elif self._timer is None:
            self._timer = self.loop.call_later(HEAD_SECONDS, self._give_up)

    def _stop_timer(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _give_up(self) -> None:
        self._open.forget(self)
        self.transport.close()  # what is on its way to the other side still gets there
        self._timer = self.loop.call_later(LINGER_SECONDS, self.transport.abort)


def queue(servers: Iterable[asyncio.Server]) -> None:
    """Let the system keep more new connections than are accepted at once: asyncio has one number for both."""
    for listening in (each for server in servers for each in server.sockets):
        with socket.socket(fileno=os.dup(listening.fileno())) as same:
            same.listen(QUEUE)
