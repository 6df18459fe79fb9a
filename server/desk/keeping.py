"""What is kept, and how long: the desk's page of retention, of one person's data, and of names struck out."""

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from pwa.app import contract
from pwa.app.protocol import Draft
from pwa.app.record import chain
from pwa.app.record.remains import is_withdrawn
from server import door
from server.desk import desk, entrance, steps
from server.store import retention, shop
from server.store.people import Person

KEEPING = f"{contract.DESK}/keeping"
STRUCK = "The name was struck out at the desk."


async def keeping(request: Request) -> Response:
    """The page; on POST the months are set, or a name is struck out."""
    if request.method != "POST":
        return await _page(request)
    form, _ = await desk.form_of(request)
    try:
        if entrance.first(form, "do") == "strike":
            await run_in_threadpool(_strike_out, request, form)
        else:
            await run_in_threadpool(shop.of(request).facts.keep, entrance.first(form, "months"))
    except ValueError as error:
        return await _page(request, str(error), 422)
    return RedirectResponse(KEEPING, 303)


def erase_what_is_due(writer: desk.Desk, here: shop.Shop) -> None:
    """Once a day: what has been kept as long as the shop wants is withdrawn."""
    writer.write(retention.withdrawals(here, shop.now()))


def _strike_out(request: Request, form: desk.Form) -> None:
    here, device = shop.of(request), entrance.first(form, "device")
    said = [
        record["id"]
        for record in here.ledger.of_kinds([contract.PERSON])
        if record["device"] == device and not is_withdrawn(record)
    ]
    if not said and not any(writer["id"] == device for writer in here.access.writers()):
        raise ValueError("There is no such phone.")
    orders: list[Draft] = []
    if said:
        orders = [chain.draft(contract.SHOP, "withdrawal", {"records": said, "reason": STRUCK})]
    here.access.strike_out(device, chain.nameless(device))
    desk.of(request).write(orders, door.somebody(request))


async def _page(request: Request, error: str = "", status: int = 200) -> Response:
    context = await run_in_threadpool(_context, shop.of(request), door.somebody(request))
    return desk.of(request).render("desk_keeping.html", {**context, "error": error}, status)


def _context(here: shop.Shop, who: Person) -> dict[str, Any]:
    due = retention.due(here, shop.now())
    return {
        "status": steps.head(here, who),
        "months": here.facts.keep_months,
        "choices": retention.MONTHS,
        "due_jobs": len(due),
        "due_entries": sum(map(len, due.values())),
        "writers": here.access.writers(),
    }
