"""One shape for everything the server refuses: a key for programs and a sentence for people."""

import errno
import sqlite3

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from pwa.app import contract


class Refused(Exception):
    """A request that is not carried out, and why."""

    def __init__(self, status: int, error: str, message: str, headers: dict[str, str] | None = None) -> None:
        super().__init__(message)
        self.status, self.error, self.message, self.headers = status, error, message, headers


async def refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, Refused)
    return reply(error.status, error.error, error.message, error.headers)


async def http(request: Request, error: Exception) -> Response:
    """Starlette's own refusals (no such route, wrong method, body too large) in the same shape."""
    assert isinstance(error, HTTPException)
    key = {404: "not_found", 405: "wrong_method", 413: "too_large"}.get(error.status_code, "bad_request")
    return reply(error.status_code, key, f"{error.detail}.", dict(error.headers or {}))


async def no_room(request: Request, error: Exception) -> Response:
    """A full disk is no defect: what was in hand is undone, and the phone keeps it. Other errors go on."""
    if not _is_full(error):
        raise error
    if request.url.path.startswith(contract.DESK):
        message = "The server's disk is full, so this was not stored. Make room there and send it again."
        page: Response = request.app.state.desk.render("desk_problem.html", {"message": message}, 507)
        return page
    message = "The shop's disk is full, so this was not taken. It stays on the phone. Tell the desk."
    return reply(507, "disk_full", message)


def _is_full(error: Exception) -> bool:
    if isinstance(error, sqlite3.Error):
        # SQLITE_IOERR_WRITE is what a quota or a limit of size looks like.
        return getattr(error, "sqlite_errorcode", 0) in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE)
    return isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def reply(status: int, error: str, message: str, headers: dict[str, str] | None = None) -> Response:
    return JSONResponse({"error": error, "message": message}, status, headers)
