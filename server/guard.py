"""What a request says of itself: the site that asks, the session in its cookie, the token in its header."""

from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import Response

from server.store import shop
from server.store.access import Person

DESK = "/desk"
ENTER = f"{DESK}/enter"


def is_same_origin(request: Request) -> bool:
    """Whether a page of this server asks. Browsers say so in one of two headers; without any, it is no."""
    return _says_origin(request) and not is_other_origin(request)


def is_other_origin(request: Request) -> bool:
    """Whether a page of another server asks. A request that says nothing of it comes from no page."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = request.headers.get("Origin")
    return origin is not None and _host(origin) != request.headers.get("Host")


def _says_origin(request: Request) -> bool:
    return "Sec-Fetch-Site" in request.headers or "Origin" in request.headers


def _host(origin: str) -> str:
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return ""


def person(request: Request) -> Person | None:
    return shop.of(request).access.role(session(request), shop.now())


def is_inside(request: Request) -> bool:
    return person(request) is not None


def bearer(request: Request) -> str:
    """The token in the header, or ""."""
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    return token.strip() if scheme.lower() == "bearer" else ""


def address(request: Request) -> str:
    """Where a request comes from, for counting attempts; behind a proxy, what the proxy says."""
    return request.client.host if request.client else ""


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
