"""How a request's body arrives: in time, and whole before an answer that did not need it.

A proxy that still sends a body when the answer comes and the connection closes says that the server is
broken, and a browser says that there is no connection. So the rest is read and dropped first, within bounds.
"""

import asyncio
import time

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.errors import Refused

PAUSE_SECONDS = 30.0  # without a byte of the body
UNKNOWN_SECONDS = 20.0  # until the whole body of somebody is here who has not signed in
DROPPED = 40 * 1024 * 1024  # bytes; no proxy lets more through (server/deploy)
DROP_SECONDS, DROP_PAUSE_SECONDS = 20.0, 2.0


class Arrival:
    """The first to see a request, and the last to see its answer."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or not _has_body(scope):
            await self._app(scope, receive, send)
            return
        body = Body(scope, receive)

        async def send_after_body(message: Message) -> None:
            if message["type"] == "http.response.start":
                await body.drop_rest()
            await send(message)

        await self._app(scope, body.receive, send_after_body)


class Body:
    def __init__(self, scope: Scope, receive: Receive) -> None:
        self._scope, self._receive = scope, receive
        self._begun = time.monotonic()
        self._is_over = False  # it is whole, or nobody waits for it any more

    async def receive(self) -> Message:
        """Raises Refused (408) when the rest takes too long."""
        if self._is_over:
            return await self._receive()
        try:
            return await self._next(self._patience())
        except TimeoutError:
            self._is_over = True
            message = "The rest of it did not come in time; send it again."
            raise Refused(408, "too_slow", message, {"Connection": "close"}) from None

    async def drop_rest(self) -> None:
        length = int(Headers(scope=self._scope).get("Content-Length", "0"))
        is_asked = "Expect" in Headers(scope=self._scope)  # it sends nothing until it is told to
        end, dropped = time.monotonic() + DROP_SECONDS, 0
        try:
            while not (self._is_over or is_asked or max(length, dropped) > DROPPED):
                patience = min(DROP_PAUSE_SECONDS, end - time.monotonic())
                dropped += len((await self._next(patience)).get("body", b""))
        except TimeoutError:
            pass
        self._is_over = True

    async def _next(self, seconds: float) -> Message:
        async with asyncio.timeout(max(0.0, seconds)):
            message = await self._receive()
        self._is_over = message["type"] != "http.request" or not message.get("more_body", False)
        return message

    def _patience(self) -> float:
        who = self._scope.get("state", {}).get("who")
        if who is not None and who.role != "nobody":
            return PAUSE_SECONDS
        return min(PAUSE_SECONDS, self._begun + UNKNOWN_SECONDS - time.monotonic())


def _has_body(scope: Scope) -> bool:
    headers = Headers(scope=scope)
    return headers.get("Content-Length", "0") != "0" or "Transfer-Encoding" in headers
