"""The way in to the desk: name and passphrase, the links that let somebody choose them, and the way out."""

from typing import Any, NamedTuple

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from pwa.app import contract
from server import door
from server.desk import desk
from server.desk.desk import Form
from server.errors import Refused
from server.store import passphrases, shop
from server.store.access import Purpose
from server.store.people import Person, Role

CODE_LENGTH = 40  # of one as somebody types it
WAITING = (
    "The shop's data was put back from a backup. An owner has to say yes to you first: at the desk,"
    " under People."
)


class Way(NamedTuple):
    """A page on which somebody who was let in chooses a passphrase: for which codes, and in which words."""

    purposes: tuple[Purpose, ...]
    title: str
    words: str


WAYS = {
    "setup": Way(("setup",), "Your way in", "You are an owner of this shop: you let others in."),
    "join": Way(("owner", "desk", "viewer"), "Your way in", "You were let in to this shop's desk."),
    "reset": Way(("reset",), "A new passphrase", "An owner lets you choose a new passphrase."),
}


def way_of(purpose: Purpose) -> str:
    """Where the link for a code of this purpose leads."""
    path = next(name for name, way in WAYS.items() if purpose in way.purposes)
    return f"{contract.DESK}/{path}"


def link(address: str, purpose: Purpose, code: str) -> str:
    """The code is in the fragment: it reaches the page, whose script puts it into the form, and no log."""
    return f"{address}{way_of(purpose)}#code={code}"


async def enter(request: Request) -> Response:
    """Sign in."""
    if request.method != "POST":
        return await _entrance(request, request.query_params.get("to", ""))
    form, _ = await desk.form_of(request)
    to = first(form, "to")
    try:
        if await shop.of(request).turns.secrets(_is_first, request, form):
            code = await run_in_threadpool(shop.of(request).new_code, "setup")
            return _choosing(request, "setup", {"code": code})
        session = await shop.of(request).turns.secrets(_session, request, form)
    except Refused as error:
        return await _entrance(request, to, error, first(form, "name"))
    return _inside(request, session, to)


def _is_first(request: Request, form: Form) -> bool:
    """Whether this is the first to come with the passphrase that all shared before each had one."""
    here, address = shop.of(request), door.address(request)
    if here.people.has_owner() or not here.people.has_shared():
        return False
    here.tried_passphrases.begin(address, shop.now())
    if not here.people.shared(first(form, "passphrase")):
        raise Refused(403, "bad_passphrase", "This passphrase is wrong.")
    here.tried_passphrases.right(address)
    return True


def _session(request: Request, form: Form) -> str:
    """Raises Refused when name and passphrase do not belong together, or too many were tried."""
    here, now, address = shop.of(request), shop.now(), door.address(request)
    here.tried_passphrases.begin(address, now)
    person = here.people.entering(first(form, "name"), first(form, "passphrase"))
    if person is None:
        raise Refused(403, "bad_passphrase", "Name or passphrase is wrong.")
    here.tried_passphrases.right(address)
    if here.people.is_waiting(person.id):
        raise Refused(403, "waiting", WAITING)
    return here.access.begin(person.id, now, here.settings.desk_days)


async def _entrance(request: Request, to: str, error: Refused | None = None, name: str = "") -> Response:
    people = shop.of(request).people
    has_owner = await run_in_threadpool(people.has_owner)
    context = {
        "error": error.message if error else "",
        "to": to if door.is_page(to) else "",
        "name": name,
        "has_owner": has_owner,
        "has_shared": not has_owner and await run_in_threadpool(people.has_shared),
    }
    page = desk.of(request).render("desk_enter.html", context, error.status if error else 200)
    page.headers.update((error.headers if error else None) or {})
    return page


async def choose(request: Request) -> Response:
    """Choose name and passphrase with a one-time link, and enter."""
    way = request.url.path.rsplit("/", 1)[-1]
    if request.method != "POST":
        return _choosing(request, way, {})
    form, _ = await desk.form_of(request)
    given = {"code": first(form, "code")[:CODE_LENGTH], "name": first(form, "name")}
    try:
        session = await shop.of(request).turns.secrets(_let_in, request, WAYS[way], given, chosen(form))
    except ValueError as error:
        return _choosing(request, way, {**given, "error": str(error)}, 422)
    except Refused as error:
        return _choosing(request, way, {**given, "error": error.message}, error.status)
    return _inside(request, session, f"{contract.DESK}/start" if way == "setup" else "")


def _let_in(request: Request, way: Way, given: dict[str, str], passphrase: str) -> str:
    """Raises ValueError for a name that will not do (the code stays good), Refused for a wrong code."""
    here, now, address = shop.of(request), shop.now(), door.address(request)
    here.tried_codes.begin(address, now)
    hashed = here.passphrases.hashed(passphrase)
    with here.store.transaction() as db:
        used = here.access.use(db, given["code"], way.purposes, now)
        if used["purpose"] == "reset":
            person = used["device"]
            here.people.change(db, person, hashed, now)
        else:
            role: Role = "owner" if used["purpose"] == "setup" else used["purpose"]  # type: ignore[assignment]
            person = here.people.add(db, given["name"], hashed, role, now).id
        if used["purpose"] == "setup":
            db.execute("delete from codes where purpose = 'setup'")
            db.execute("delete from passphrases")  # which all shared before each had one
    here.tried_codes.right(address)
    return here.access.begin(person, now, here.settings.desk_days)


def chosen(form: Form) -> str:
    """The new passphrase in a form.

    Raises:
        ValueError: it will not do, or was not typed twice alike.
    """
    passphrase = first(form, "passphrase")
    if passphrase != first(form, "again"):
        raise ValueError("The two passphrases differ.")
    passphrases.fine(passphrase)
    return passphrase


def _choosing(request: Request, way: str, context: dict[str, Any], status: int = 200) -> Response:
    given = {"error": "", "code": "", "name": "", "shortest": passphrases.SHORTEST, "way": way}
    words = {"title": WAYS[way].title, "words": WAYS[way].words}
    return desk.of(request).render("desk_choose.html", {**given, **words, **context}, status)


async def leave(request: Request) -> Response:
    await run_in_threadpool(shop.of(request).access.leave, door.session(request))
    response = RedirectResponse(door.ENTER, 303)
    door.give_cookie(request, response, "", 0)
    return response


def _inside(request: Request, session: str, to: str) -> Response:
    response = RedirectResponse(to if door.is_page(to) else f"{contract.DESK}/", 303)
    door.give_cookie(request, response, session, shop.of(request).settings.desk_days)
    return response


def prove(request: Request, person: Person, current: str) -> None:
    """Who changes who may come in shows once more who it is: a browser left open is not enough.

    Raises:
        ValueError: this is not the person's passphrase.
        Refused: too many wrong ones were tried.
    """
    here, address = shop.of(request), door.address(request)
    here.tried_passphrases.begin(address, shop.now())
    if not here.people.proves(person.id, current):
        raise ValueError("Your current passphrase is wrong.")
    here.tried_passphrases.right(address)


def first(form: Form, name: str) -> str:
    """The first value of a field, or ""."""
    return next(iter(form.get(name, [])), "")
