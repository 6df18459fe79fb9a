"""The page of a new shop's first steps: its name, the first phone, the first backup."""

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from pwa.app import contract, when
from server import door
from server.backup import last
from server.desk import desk, entrance, steps
from server.desk.desk import zone
from server.store import shop
from server.store.people import Person

START = f"{contract.DESK}/start"


async def start(request: Request) -> Response:
    """The steps; on POST the shop gets its name, or the list is put away."""
    if request.method != "POST":
        return await _start(request)
    form, _ = await desk.form_of(request)
    try:
        await run_in_threadpool(_do, shop.of(request), form)
    except ValueError as error:
        return await _start(request, str(error), 422)
    return RedirectResponse(START, 303)


def _do(here: shop.Shop, form: desk.Form) -> None:
    if entrance.first(form, "do") == "away":
        here.facts.put_first_steps_away()
    else:
        here.facts.name_shop(entrance.first(form, "name"))


async def _start(request: Request, error: str = "", status: int = 200) -> Response:
    context = await run_in_threadpool(_context, shop.of(request), door.somebody(request))
    return desk.of(request).render("desk_start.html", {**context, "error": error}, status)


def _context(here: shop.Shop, who: Person) -> dict[str, Any]:
    backup = last.read(here.settings.data)
    return {
        "status": steps.head(here, who),
        "done": steps.done(here),
        "made": when.local(int(backup.made * 1000), zone()) if backup else "",
        "where": backup.where if backup else "",
    }
