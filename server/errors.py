"""One shape for everything the server refuses: a key for programs and a sentence for people."""

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response


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


def reply(status: int, error: str, message: str, headers: dict[str, str] | None = None) -> Response:
    return JSONResponse({"error": error, "message": message}, status, headers)
