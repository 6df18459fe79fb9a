"""The way in to the desk: passphrase or one-time code, setting the passphrase, and the way out."""

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from pwa.app import contract
from server import door
from server.desk import desk
from server.desk.desk import Form
from server.errors import Refused
from server.store import passphrases, shop
from server.store.access import Person

CODE_LENGTH = 40  # of one as somebody types it


async def enter(request: Request) -> Response:
    """Sign in."""
    if request.method != "POST":
        return await _entrance(request)
    form, _ = await desk.form_of(request)
    try:
        session = await run_in_threadpool(_session, request, form)
    except Refused as error:
        return await _entrance(request, error.message, error.status, error.headers)
    return _inside(request, session)


def _session(request: Request, form: Form) -> str:
    """Raises Refused when neither passphrase nor code is right, or too many were tried."""
    here, now, address = shop.of(request), shop.now(), door.address(request)
    passphrase, code = first(form, "passphrase"), first(form, "code")
    if not passphrase:
        here.tried_codes.begin(address, now)
        session = here.access.enter(code[:CODE_LENGTH], now, here.settings.desk_days)
        here.tried_codes.right(address)
        return session
    here.tried_passphrases.begin(address, now)
    role = here.passphrases.role(passphrase)
    if role is None:
        raise Refused(403, "bad_passphrase", "This passphrase is wrong.")
    here.tried_passphrases.right(address)
    return here.access.begin(role, now, here.settings.desk_days)


async def _entrance(
    request: Request, error: str = "", status: int = 200, headers: dict[str, str] | None = None
) -> Response:
    is_set = await run_in_threadpool(shop.of(request).passphrases.is_set, "desk")
    page = desk.of(request).render("desk_enter.html", {"error": error, "is_set": is_set}, status)
    page.headers.update(headers or {})
    return page


async def setup(request: Request) -> Response:
    """Set the desk's passphrase with the one-time link that the server printed.

    The link carries its code in the fragment, which the page's script puts into the form: no log gets it.
    """
    if request.method != "POST":
        return _setting(request, "", "")
    form, _ = await desk.form_of(request)
    code, passphrase = first(form, "code")[:CODE_LENGTH], first(form, "passphrase")
    try:
        if passphrase != first(form, "again"):
            raise ValueError("The two passphrases differ.")
        session = await run_in_threadpool(_set_up, request, code, passphrase)
    except ValueError as error:
        return _setting(request, code, str(error), 422)
    except Refused as error:
        return _setting(request, code, error.message, error.status)
    return _inside(request, session, "start")


def _set_up(request: Request, code: str, passphrase: str) -> str:
    """Raises ValueError for a passphrase that will not do (the code stays good), Refused for a wrong code."""
    here, now, address = shop.of(request), shop.now(), door.address(request)
    passphrases.fine(passphrase)
    here.tried_codes.begin(address, now)
    with here.store.transaction() as db:
        here.access.use(db, code, ("setup",), now)
        db.execute("delete from codes where purpose in ('setup', 'desk')")
    here.tried_codes.right(address)
    return change(here, "desk", passphrase, now)


def change(here: shop.Shop, role: Person, passphrase: str, now: int) -> str:
    """Set a role's passphrase, end its sessions, and begin a new one.

    Raises:
        ValueError: the passphrase will not do.
    """
    here.passphrases.set(role, passphrase, now)
    here.access.leave_all(role)
    return here.access.begin(role, now, here.settings.desk_days)


def _setting(request: Request, code: str, error: str, status: int = 200) -> Response:
    context = {"code": code[:CODE_LENGTH], "error": error, "shortest": passphrases.SHORTEST}
    return desk.of(request).render("desk_setup.html", context, status)


async def leave(request: Request) -> Response:
    await run_in_threadpool(shop.of(request).access.leave, door.session(request))
    response = RedirectResponse(door.ENTER, 303)
    door.give_cookie(request, response, "", 0)
    return response


def _inside(request: Request, session: str, page: str = "") -> Response:
    response = RedirectResponse(f"{contract.DESK}/{page}", 303)
    door.give_cookie(request, response, session, shop.of(request).settings.desk_days)
    return response


def first(form: Form, name: str) -> str:
    """The first value of a field, or ""."""
    return next(iter(form.get(name, [])), "")
