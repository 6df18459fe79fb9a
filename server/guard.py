"""The desk's door: a session for every page but the sign-in, and no change asked for by another site."""

from urllib.parse import urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from server import errors, shop

DESK = "/desk"
ENTER = f"{DESK}/enter"


class Guard:
    """Stands before everything under /desk, so that a new page cannot forget it."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope, receive)
        response: ASGIApp = self._app
        if request.method not in ("GET", "HEAD") and not is_same_origin(request):
            response = errors.reply(
                403, "other_site", "This was sent from another site, so nothing was done."
            )
        elif scope["path"] != ENTER and not await run_in_threadpool(is_inside, request):
            response = RedirectResponse(ENTER, 303)
        await response(scope, receive, send)


def is_same_origin(request: Request) -> bool:
    """Whether a page of this server asks. Browsers say so in one of two headers; without any, it is no."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = request.headers.get("Origin", "")
    return bool(origin) and urlsplit(origin).netloc == request.headers.get("Host")


def is_inside(request: Request) -> bool:
    return shop.of(request).access.is_inside(session(request), shop.now())


def session(request: Request) -> str:
    return request.cookies.get(_cookie(request), "")


def give_cookie(request: Request, response: Response, session: str, days: int) -> None:
    """No script reads it and no other site sends it; with 0 days it is taken away."""
    response.set_cookie(
        _cookie(request),
        session,
        max_age=days * 24 * 3600,
        path="/",
        secure=request.url.scheme == "https",
        httponly=True,
        samesite="strict",
    )


def _cookie(request: Request) -> str:
    """Browsers keep a `__Host-` cookie from being set by a neighbour, but allow the name on HTTPS only."""
    return "__Host-layby" if request.url.scheme == "https" else "layby"
