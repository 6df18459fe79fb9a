"""The desk's page of phones: which may send and fetch, and how that is taken back."""

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from pwa.app import contract, when
from pwa.app.record.authors import Authors
from server import address, door
from server.desk import desk, entrance, steps
from server.desk.desk import zone
from server.store import access, ledger, shop

DEVICES = f"{contract.DESK}/devices"


async def devices(request: Request) -> Response:
    """The phones, what is missing or refused of each, and on POST a code for one more."""
    code = await run_in_threadpool(shop.of(request).new_code, "phone") if request.method == "POST" else ""
    return await _devices(request, code)


async def code_for(request: Request) -> Response:
    """A code for a phone that was here before: its storage was cleared, or its right was taken from it."""
    here, device = shop.of(request), request.path_params["device"]
    phones = await run_in_threadpool(here.access.phones)
    named = [phone["name"] for phone in phones if phone["id"] == device]
    if not named:
        return RedirectResponse(DEVICES, 303)
    code = await run_in_threadpool(here.new_code, "phone", device)
    return await _devices(request, code, named[0])


async def revoke(request: Request) -> Response:
    """From now on this phone's token is worth nothing."""
    await run_in_threadpool(shop.of(request).access.revoke, request.path_params["device"], shop.now())
    return RedirectResponse(DEVICES, 303)


async def accept_key(request: Request) -> Response:
    """The key that this phone showed last is the one that counts from now on."""
    form, _ = await desk.form_of(request)
    here, device = shop.of(request), request.path_params["device"]
    await run_in_threadpool(here.heads.accept, device, entrance.first(form, "key"))
    await run_in_threadpool(here.heads.note, device, "", shop.now())
    return RedirectResponse(DEVICES, 303)


async def _devices(request: Request, code: str, name: str = "") -> Response:
    here = shop.of(request)
    gaps = await run_in_threadpool(here.ledger.gaps)
    phones = await run_in_threadpool(_phones, here, gaps)
    known = {phone["id"] for phone in phones}
    context = {
        "status": await run_in_threadpool(steps.head, here, door.somebody(request)),
        "phones": phones,
        "elsewhere": [gap for gap in gaps if gap["device"] not in known],
        "code": code,
        "name": name,
        **_way_in(request, code),
        "minutes": here.settings.code_minutes,
    }
    return desk.of(request).render("desk_devices.html", context)


def _phones(here: shop.Shop, gaps: list[ledger.Gap]) -> list[dict[str, Any]]:
    authors = here.ledger.authors()
    return [
        {
            "id": phone["id"],
            "name": _called(phone, authors),
            "seen": when.local(phone["seen"], zone()),
            "enrolled": when.local(phone["enrolled"], zone()),
            "revoked": when.local(phone["revoked"], zone()) if phone["revoked"] else "",
            "gaps": [gap for gap in gaps if gap["device"] == phone["id"]],
            "refused": here.ledger.refusals(phone["id"]),
            "new_key": here.heads.waiting(phone["id"]),
            "photos": len(here.ledger.wanted(phone["id"])),
        }
        for phone in here.access.phones()
    ]


def _called(phone: dict[str, Any], authors: Authors) -> str:
    if not authors.is_named(phone["id"]):
        return str(phone["name"])
    return authors.name(phone["id"]) + (access.COPY if phone["copy_of"] else "")


def _way_in(request: Request, code: str) -> dict[str, str]:
    """The link that a phone opens; or, where it would lead a phone nowhere, why not and what to do."""
    url = shop.of(request).settings.url or str(request.base_url).rstrip("/")
    why = address.why_not(url)
    return {
        "link": address.phone_link(url, code) if code and not why else "",
        "why_not": why,
        "how": address.HOW,
    }
