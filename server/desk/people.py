"""Everybody at the desk: who may come in as what, how that is taken back, and everybody's own passphrase."""

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from pwa.app import contract, when
from server import door
from server.desk import desk, entrance, steps
from server.desk.desk import zone
from server.errors import Refused
from server.store import passphrases, shop
from server.store.access import Purpose
from server.store.people import ROLES

PEOPLE = f"{contract.DESK}/people"
ACCESS = f"{contract.DESK}/access"


async def people(request: Request) -> Response:
    """Everybody, and on POST a link that lets somebody in."""
    if request.method != "POST":
        return await _people(request)
    form, _ = await desk.form_of(request)
    role = entrance.first(form, "role")
    if role not in ROLES:
        return await _people(request, error="Choose what the person may do.", status=422)
    return await _with_link(request, entrance.first(form, "current"), role, "", "somebody new")


async def reset(request: Request) -> Response:
    """A link by which somebody chooses a new passphrase; until then the old one is good."""
    form, _ = await desk.form_of(request)
    person = await run_in_threadpool(shop.of(request).people.get, request.path_params["person"])
    if person is None:
        return RedirectResponse(PEOPLE, 303)
    return await _with_link(request, entrance.first(form, "current"), "reset", person.id, person.name)


async def shut_out(request: Request) -> Response:
    """Ask first; on POST somebody's sessions end and the passphrase is worth nothing."""
    here, person = shop.of(request), request.path_params["person"]
    known = await run_in_threadpool(here.people.get, person)
    if known is None or person == door.somebody(request).id:  # so one owner always stays
        return RedirectResponse(PEOPLE, 303)
    if request.method != "POST":
        context = {
            "status": await run_in_threadpool(steps.head, here, door.somebody(request)),
            "known": known,
        }
        return desk.of(request).render("desk_person_out.html", context)
    await run_in_threadpool(here.people.shut_out, person, shop.now())
    return RedirectResponse(PEOPLE, 303)


async def confirm(request: Request) -> Response:
    """Somebody's right holds on in a shop that was put back from a backup."""
    await run_in_threadpool(shop.of(request).people.confirm, request.path_params["person"])
    return RedirectResponse(PEOPLE, 303)


async def _with_link(request: Request, current: str, purpose: Purpose, person: str, name: str) -> Response:
    here = shop.of(request)
    try:
        await run_in_threadpool(entrance.prove, request, door.somebody(request), current)
    except (ValueError, Refused) as error:
        return await _people(request, error=str(error), status=getattr(error, "status", 422))
    code = await run_in_threadpool(here.new_code, purpose, person)
    url = here.settings.url or str(request.base_url).rstrip("/")
    return await _people(request, link=entrance.link(url, purpose, code), name=name)


async def _people(
    request: Request, link: str = "", name: str = "", error: str = "", status: int = 200
) -> Response:
    here, who = shop.of(request), door.somebody(request)
    context = {
        "status": await run_in_threadpool(steps.head, here, who),
        "people": await run_in_threadpool(_listing, here),
        "me": who.id,
        "link": link,
        "name": name,
        "error": error,
        "minutes": here.settings.code_minutes,
    }
    return desk.of(request).render("desk_people.html", context, status)


def _listing(here: shop.Shop) -> list[dict[str, Any]]:
    return [
        {
            **row,
            "added": when.local(row["added"], zone()),
            "out": when.local(row["out"], zone()) if row["out"] else "",
        }
        for row in here.people.listing()
    ]


async def access(request: Request) -> Response:
    """Everybody's own name, passphrase and sessions."""
    if request.method != "POST":
        return await _access(request)
    form, _ = await desk.form_of(request)
    try:
        session = await run_in_threadpool(_change, request, form)
    except ValueError as error:
        return await _access(request, str(error), 422)
    except Refused as error:
        return await _access(request, error.message, error.status)
    response = RedirectResponse(ACCESS, 303)
    if session:
        door.give_cookie(request, response, session, shop.of(request).settings.desk_days)
    return response


def _change(request: Request, form: desk.Form) -> str:
    """The session to go on with, or "" for the one that is there.

    Raises:
        ValueError: the current or the new passphrase or the name will not do.
        Refused: too many wrong passphrases were tried.
    """
    here, now, who, do = shop.of(request), shop.now(), door.somebody(request), entrance.first(form, "do")
    if do == "leave-others":
        here.access.leave_others(who.id, door.session(request))
    elif do == "name":
        here.people.rename(who.id, entrance.first(form, "name"))
    elif do == "passphrase":
        entrance.prove(request, who, entrance.first(form, "current"))
        hashed = here.passphrases.hashed(entrance.chosen(form))
        with here.store.transaction() as db:
            here.people.change(db, who.id, hashed, now)
        return here.access.begin(who.id, now, here.settings.desk_days)
    else:
        raise ValueError("Choose what to change.")
    return ""


async def _access(request: Request, error: str = "", status: int = 200) -> Response:
    here, who = shop.of(request), door.somebody(request)
    context = {
        "status": await run_in_threadpool(steps.head, here, who),
        "error": error,
        "name": who.name,
        "browsers": await run_in_threadpool(here.access.sessions, who.id, shop.now()),
        "shortest": passphrases.SHORTEST,
    }
    return desk.of(request).render("desk_access.html", context, status)
