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
from server.store import access, shop
from server.store.gaps import Gap
from server.store.people import Person

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
    """Ask first; on POST the tokens of this phone and of its copies are worth nothing any more."""
    here, device = shop.of(request), request.path_params["device"]
    if request.method == "POST":
        await run_in_threadpool(here.access.revoke, device, shop.now())
        return RedirectResponse(DEVICES, 303)
    context = await run_in_threadpool(_asking, here, door.somebody(request), device)
    if not context["family"]:
        return RedirectResponse(DEVICES, 303)
    return desk.of(request).render("desk_phone_out.html", context)


def _asking(here: shop.Shop, who: Person, device: str) -> dict[str, Any]:
    authors = here.ledger.authors()
    family = [_called(phone, authors) for phone in here.access.family(device)]
    return {"status": steps.head(here, who), "family": family, "device": device}


async def know_copy(request: Request) -> Response:
    """This copy of a phone is right: its phone was put back from a backup."""
    await run_in_threadpool(shop.of(request).access.know_copy, request.path_params["device"])
    return RedirectResponse(DEVICES, 303)


async def confirm(request: Request) -> Response:
    """The phones that were on the list may go on in a shop that was put back from a backup."""
    form, _ = await desk.form_of(request)
    await run_in_threadpool(shop.of(request).access.confirm, form.get("device", []))
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
        "path": "/devices",
        "noticed_by": next((phone["name"] for phone in phones if phone["id"] == here.facts.noticed_by), ""),
        "phones": phones,
        "waiting": [phone for phone in phones if phone["waiting"]],
        "elsewhere": [gap for gap in gaps if gap["device"] not in known],
        "code": code,
        "name": name,
        **_way_in(request, code),
        "minutes": here.settings.code_minutes,
    }
    return desk.of(request).render("desk_devices.html", context)


def _phones(here: shop.Shop, gaps: list[Gap]) -> list[dict[str, Any]]:
    authors = here.ledger.authors()
    waiting = {phone["id"] for phone in here.access.waiting()}
    return [
        {
            "id": phone["id"],
            "waiting": phone["id"] in waiting,
            "copied": bool(phone["copy_of"]),
            "known": bool(phone["known"]),
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
