"""What the server says of its own work: one line of JSON for each request.

It holds nothing of a person or a secret: not the address asked for (it carries ids), only the route
that answered it; not the words of an error, only its kind and place; no network address, no name.
"""

import json
import logging
import sys
import time
import traceback
from types import TracebackType
from typing import Any

from starlette.requests import ClientDisconnect, Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server import errors

LOG = logging.getLogger("layby")
METHODS = ("GET", "HEAD", "POST", "PATCH", "OPTIONS", "PUT", "DELETE")


class Observed:
    """Sees every request, and answers for what failed."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        status, begun = 0, time.perf_counter()

        async def send_noted(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        request = Request(scope, receive)
        try:
            await self._app(scope, receive, send_noted)
        except ClientDisconnect:
            pass  # nobody is there to read an answer
        except Exception as error:
            LOG.error("failed", extra={"fields": {"route": _route(request), **described(error)}})
            if status:
                raise Cut from None  # too late to answer; nobody takes a cut connection for the whole
            failed = errors.reply(500, "failed", "The server could not do this. Nothing of it was stored.")
            await failed(scope, receive, send_noted)
        finally:
            self._note(request, status, time.perf_counter() - begun)

    def _note(self, request: Request, status: int, seconds: float) -> None:
        route, method = _route(request), request.method if request.method in METHODS else "other"
        fields = {"route": route, "method": method, "status": status, "ms": round(seconds * 1000)}
        who = getattr(request.state, "who", None)
        LOG.info("request", extra={"fields": fields | ({"role": who.role} if who else {})})


class Cut(Exception):
    """An answer that could not be finished."""


def _route(request: Request) -> str:
    return str(getattr(request.state, "route", "none"))


def described(error: BaseException) -> dict[str, Any]:
    """An error's kind and the lines of code it passed; its words may quote what somebody typed."""
    return {"error": type(error).__name__, "at": _places(error.__traceback__)}


def _places(trace: TracebackType | None) -> list[str]:
    frames = traceback.extract_tb(trace)[-8:]
    return [f"{'/'.join(frame.filename.split('/')[-2:])}:{frame.lineno} {frame.name}" for frame in frames]


class Lines(logging.Formatter):
    """A log record as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "time": time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(record.created))
            + f".{int(record.msecs):03d}Z",
            "level": record.levelname.lower(),
            "event": str(record.msg),
        }
        line.update(getattr(record, "fields", {}))
        if record.exc_info and record.exc_info[1]:
            line.update(described(record.exc_info[1]))
        return json.dumps(line, ensure_ascii=True)


def to_stderr() -> None:
    """Log to standard error: our own lines, and what the web server below says (without its arguments)."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(Lines())
    for name, level in (("layby", logging.INFO), ("uvicorn", logging.WARNING)):
        logger = logging.getLogger(name)
        logger.handlers, logger.propagate = [handler], False
        logger.setLevel(level)
