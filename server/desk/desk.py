"""The desk: the notebook's own pages over the whole shop's records, for a browser that has signed in."""

import contextlib
import secrets
import threading
import time
from typing import Any, Protocol

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, RedirectResponse, Response

from pwa.app import contract, protocol
from pwa.app.record import chain
from server import door
from server.desk import steps
from server.errors import Refused
from server.store import shop
from server.store.access import IS_DESK
from server.store.people import NOBODY, Person

Form = dict[str, list[str]]

MAX_FORM = contract.PHOTO_BYTES + 1024 * 1024
MAX_FIELDS = 2000


SHARED = f"select id from devices where {IS_DESK} and person = ''"


REPORT = "/summary"  # the page that says what is signed


class Book(Protocol):
    """What the desk needs of a notebook."""

    def needs(self, request: protocol.Request) -> protocol.Needs: ...

    def answer(self, request: protocol.Request, rows: list[protocol.Row]) -> protocol.Answer: ...


class Pages(Protocol):
    """Renders a template with a context."""

    def __call__(self, template: str, context: dict[str, Any]) -> str: ...


class Desk:
    def __init__(self, here: shop.Shop, book: Book, render: Pages) -> None:
        self._shop, self._book, self._render = here, book, render
        # The desk is one writer: the next record is sealed only after the last one is stored.
        self._writing = threading.Lock()

    def answer(self, who: Person, method: str, path: str, query: Form, form: Form) -> protocol.Answer:
        """One page of the notebook; what it writes is stored before it goes out."""
        writes = method == "POST"
        with self._writing if writes else contextlib.nullcontext():
            if writes:
                self._name_shared()
            device = self._shop.access.desk(who, writes)
            asked: protocol.Request = {
                "method": method,
                "path": path,
                "query": query,
                "form": form,
                "now": shop.now(),
                "zone": zone(),
                "random": secrets.token_hex(4096),
                "host": "desk",
                "base": contract.DESK,
                "device": self._shop.ledger.device(device, who.name),
                "status": steps.head(self._shop, who),
            }
            needs = self._book.needs(asked)
            rows = self._shop.ledger.rows(needs)
            if path.endswith(REPORT):
                writers = {row["device"] for row in rows if row["job"] == needs["job"]}
                asked["status"]["heads"] = dict(self._shop.heads.newest(writers))
            answer = self._book.answer(asked, rows)
            if writes:  # only reading is what a viewer may
                self._store(device, answer["records"])
        return answer

    def write(self, drafts: list[protocol.Draft], who: Person = NOBODY) -> None:
        """Records that the desk writes without a page of the notebook."""
        if not drafts:
            return
        with self._writing:
            device = self._shop.ledger.device(self._shop.access.desk(who, True), who.name)
            drafts = self._shop.ledger.authors().own(device) + drafts
            random = secrets.token_hex(10 * len(drafts))
            self._store(device["id"], chain.seal(drafts, device, shop.now(), random, device["clock"])[0])

    def _store(self, device: str, texts: list[str]) -> None:
        _, refused = self._shop.ledger.take(device, texts, shop.now())
        if refused:  # the desk reads its chain from the ledger, so this is a defect of ours
            raise RuntimeError(f"The desk's own record was refused: {refused[0]['message']}")
        if texts:
            self._shop.heads.sign_own(device, shop.now())
        self._shop.photos.erase_gone()

    def _name_shared(self) -> None:
        """The device that all at the desk wrote as before they had names says once what it was."""
        rows = self._shop.store.rows(SHARED)
        device = self._shop.ledger.device(rows[0]["id"], NOBODY.name) if rows else None
        drafts = self._shop.ledger.authors().own(device) if device and device["seq"] else []
        if drafts and device:
            texts, _ = chain.seal(drafts, device, shop.now(), secrets.token_hex(10), "")
            self._store(device["id"], texts)

    def render(self, template: str, context: dict[str, Any], status: int = 200) -> Response:
        """One of the desk's own pages, which no phone has."""
        given: dict[str, Any] = {
            "base": contract.DESK, "host": "desk", "status": steps.NOTHING_TO_SEND, "path": "", "job": None,
            "damaged": [], "left_out": [], "disputes": None,
        }  # fmt: skip
        return HTMLResponse(self._render(template, {**given, **context}), status, NO_STORE)


NO_STORE = {"Cache-Control": "no-store"}


def of(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


async def page(request: Request) -> Response:
    """Any page of the notebook."""
    form, photo = await form_of(request) if request.method == "POST" else ({}, b"")
    query: Form = {}
    for name, value in request.query_params.multi_items():
        query.setdefault(name, []).append(value)
    if photo:
        try:
            fields = await run_in_threadpool(shop.of(request).photos.keep_new, photo, shop.now())
        except ValueError as error:
            return of(request).render("desk_problem.html", {"message": str(error)}, 422)
        form.update({name: [value] for name, value in fields.items()})
    method = "POST" if request.method == "POST" else "GET"
    path = str(request.scope["path"]).removeprefix(contract.DESK)
    pages = shop.of(request).turns.pages
    answer = await pages(of(request).answer, door.somebody(request), method, path, query, form)
    if answer["location"]:
        return RedirectResponse(answer["location"], answer["status"])
    content = answer["body"].encode(errors="replace")
    return Response(content, answer["status"], {**NO_STORE, "Content-Type": answer["type"]})


async def photo(request: Request) -> Response:
    """A picture, with every right taken from it in case it is something else as well."""
    sha256 = request.path_params["sha256"]
    path, kind = await run_in_threadpool(shop.of(request).photos.find, sha256)
    headers = {
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "Cache-Control": "private, max-age=31536000, immutable",
    }
    return FileResponse(path, headers=headers, media_type=kind)


async def photo_on_page(request: Request) -> Response:
    """The same for a page of the desk: what is not here, or cannot be shown, is drawn as just that.

    Opened by itself instead of on a page, a file that cannot be shown is handed out as a download.
    """
    try:
        return await photo(request)
    except Refused as error:
        if error.error == "no_picture" and request.headers.get("Sec-Fetch-Dest") == "document":
            return await _download(request)
        name = "photo-damaged.svg" if error.error == "damaged" else "photo-not-here.svg"
        return RedirectResponse(f"/static/{name}", 307, NO_STORE)


async def _download(request: Request) -> Response:
    sha256 = request.path_params["sha256"]
    kept = await run_in_threadpool(shop.of(request).photos.kept, sha256)
    assert kept  # it was looked up a moment ago
    return FileResponse(
        kept.path,
        headers={"Content-Security-Policy": "default-src 'none'; sandbox", **NO_STORE},
        media_type="application/octet-stream",
        filename=f"{sha256[:16]}.bin",
    )


async def form_of(request: Request) -> tuple[Form, bytes]:
    """The fields of a form, and the content of its field `photo` when a file was chosen."""
    fields: Form = {}
    photo = b""
    async with request.form(max_files=1, max_fields=MAX_FIELDS, max_part_size=256 * 1024) as form:
        for name, value in form.multi_items():
            if not isinstance(value, UploadFile):
                fields.setdefault(name, []).append(value)
            elif name == "photo":
                photo = await value.read()
    return fields, photo


def zone() -> int:
    """Minutes that the server's local time is ahead of UTC."""
    return time.localtime().tm_gmtoff // 60
