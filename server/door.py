"""The door before every address: who may come in, checked before the endpoint is reached.

A route is a `Ruled`, which names a rule for each of its methods; app.py takes no other kind, so a new
address cannot be without one.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Literal, NamedTuple, cast
from urllib.parse import quote, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from pwa.app import contract
from server.errors import Refused
from server.store import shop
from server.store.people import Person

Role = Literal["nobody", "phone", "viewer", "desk", "owner"]
ENTER = f"{contract.DESK}/enter"
READS = ("GET", "HEAD", "OPTIONS")
LONGEST_PAGE = 500  # characters of an address that is kept through signing in


class Rule(NamedTuple):
    """`may`: the roles that come in.

    `page`: a browser asks, with its cookie, so a change must prove its origin.
    """

    may: frozenset[Role]
    page: bool = False


class Who(NamedTuple):
    role: Role
    device: str = ""  # a phone's id
    person: Person | None = None  # at the desk


ANYBODY = Rule(frozenset(("nobody", "phone", "viewer", "desk", "owner")))
PHONES = Rule(frozenset(("phone",)))
PICTURES = Rule(frozenset(("phone", "viewer", "desk", "owner")))
ENTRANCE = Rule(ANYBODY.may, page=True)
READERS = Rule(frozenset(("viewer", "desk", "owner")), page=True)
DESK = Rule(frozenset(("desk", "owner")), page=True)
OWNERS = Rule(frozenset(("owner",)), page=True)


class Ruled(Route):
    """A route whose every method has a rule."""

    def __init__(
        self,
        path: str,
        endpoint: Callable[..., Any],
        rules: Mapping[str, Rule],
        *,
        middleware: Sequence[Middleware] | None = None,
        max_body_size: int | None = None,
    ) -> None:
        super().__init__(
            path, endpoint, methods=list(rules), middleware=middleware, max_body_size=max_body_size
        )
        self.rules = {**rules, **({"HEAD": rules["GET"]} if "GET" in rules else {})}
        self.app = Door(self.app, self)


class Door:
    def __init__(self, inside: ASGIApp, route: Ruled) -> None:
        self._inside, self._route = inside, route

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope, receive)
        rule = self._route.rules[request.method]
        request.state.route = self._route.path
        if request.method not in READS:
            _check_origin(request, rule)
        known = Who("nobody")
        if "nobody" not in rule.may:
            known = await run_in_threadpool(_who, request, rule)
        request.state.who = known
        response = self._inside
        if known.role not in rule.may:
            if known.role == "nobody" and rule.page:
                response = RedirectResponse(_entrance(request), 303)
            else:
                context = {"person": known.person}
                response = request.app.state.desk.render("desk_not_allowed.html", context, 403)
        await response(scope, receive, send)


def who(request: Request) -> Who:
    return cast(Who, request.state.who)


def somebody(request: Request) -> Person:
    """Who is at the desk, behind a rule that lets only people in."""
    known = who(request).person
    assert known
    return known


def _entrance(request: Request) -> str:
    """Where to sign in; a page that was asked for is shown afterwards."""
    page = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    if request.method != "GET" or page == f"{contract.DESK}/" or len(page) > LONGEST_PAGE:
        return ENTER
    return f"{ENTER}?to={quote(page)}"


def is_page(path: str) -> bool:
    """Whether it is the address of a page at the desk, and of nothing elsewhere."""
    inside = f"{contract.DESK}/"
    return path.startswith(inside) and not set(path) & set("\\\r\n\t") and ".." not in path


def _check_origin(request: Request, rule: Rule) -> None:
    """A browser says where a change was asked for; a program that sends its token does not."""
    fine = is_same_origin(request) if rule.page else not is_other_origin(request)
    if not fine:
        raise Refused(403, "other_site", "This was sent from another site, so nothing was done.")


def _who(request: Request, rule: Rule) -> Who:
    """Who asks, as far as the rule cares.

    Raises:
        Refused: a program's address, and no valid token.
    """
    if rule.may & READERS.may:
        known = person(request)
        if known:
            return Who(known.role, person=known)
    if "phone" in rule.may:
        return Who("phone", shop.of(request).access.device(bearer(request), shop.now()))
    if not rule.page:
        raise Refused(401, "not_signed_in", "This needs a token or a browser that is signed in.")
    return Who("nobody")


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
    return shop.of(request).access.person(session(request), shop.now())


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
