"""The server's address table, with who may do what at each address."""

import asyncio
import contextlib
import sqlite3
import sys
from collections.abc import AsyncIterator

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from pwa.app.contract import DESK, ENROL, FORK, HEALTH, PHOTOS, SYNC, UPLOADS
from server import door, errors, health, observe, rot, site
from server.desk import desk, entrance, keeping, members, notebook, people, start
from server.door import Ruled, is_inside
from server.files import give_out, take_in
from server.headers import SecurityHeaders
from server.settings import Settings
from server.store.database import insist_on_database
from server.store.shop import Shop
from server.sync import sync, uploads
from server.wire.arrival import Arrival


async def _to_desk(request: Request) -> Response:
    return RedirectResponse(f"{DESK}/", 307)


async def _worksheet(request: Request) -> Response:
    """The handbook links to worksheets as the phone has them; a browser at the desk gets the desk's."""
    if await run_in_threadpool(is_inside, request):
        return RedirectResponse(
            str(request.url.replace(scheme="", netloc="", path=DESK + request.url.path)), 307
        )
    return await site.serve(request)


PACKED = [Middleware(GZipMiddleware, compresslevel=6)]
PACKED_SMALL = [Middleware(GZipMiddleware, compresslevel=9)]  # a phone's signal costs more than our time
SMALL = 64 * 1024  # of a form without a photo
LITTLE = 8 * 1024  # of one that anybody may send: two passphrases of 128 characters, however they are written
DAY = 24 * 3600  # seconds

ANYBODY, PHONES, READERS, OWNERS = door.ANYBODY, door.PHONES, door.READERS, door.OWNERS
ROUTES = [
    Ruled(HEALTH, health.health, {"GET": ANYBODY}),
    Ruled(ENROL, sync.enrol, {"POST": ANYBODY}),
    Ruled(SYNC, sync.sync, {"POST": PHONES}, middleware=PACKED_SMALL),
    Ruled(FORK, sync.fork, {"POST": PHONES}),
    Ruled(UPLOADS, uploads.options, {"OPTIONS": ANYBODY}),
    Ruled(UPLOADS, uploads.create, {"POST": PHONES}),
    Ruled(f"{UPLOADS}/{{sha256}}", uploads.options, {"OPTIONS": ANYBODY}),
    Ruled(f"{UPLOADS}/{{sha256}}", uploads.resume, {"HEAD": PHONES, "PATCH": PHONES, "POST": PHONES}),
    Ruled(f"{PHOTOS}/{{sha256}}", desk.photo, {"GET": door.PICTURES}),
    Ruled(DESK, _to_desk, {"GET": READERS}),
    Ruled(
        f"{DESK}/enter",
        entrance.enter,
        {"GET": door.ENTRANCE, "POST": door.ENTRANCE},
        max_body_size=LITTLE,
    ),
    *(
        Ruled(
            f"{DESK}/{way}",
            entrance.choose,
            {"GET": door.ENTRANCE, "POST": door.ENTRANCE},
            max_body_size=LITTLE,
        )
        for way in entrance.WAYS
    ),
    Ruled(f"{DESK}/leave", entrance.leave, {"POST": READERS}, max_body_size=SMALL),
    Ruled(
        f"{DESK}/devices",
        members.devices,
        {"GET": door.DESK, "POST": door.DESK},
        middleware=PACKED,
        max_body_size=SMALL,
    ),
    Ruled(f"{DESK}/devices/{{device}}/code", members.code_for, {"POST": door.DESK}, max_body_size=SMALL),
    Ruled(f"{DESK}/devices/{{device}}/key", members.accept_key, {"POST": door.DESK}, max_body_size=SMALL),
    Ruled(
        f"{DESK}/devices/{{device}}/revoke",
        members.revoke,
        {"GET": door.DESK, "POST": door.DESK},
        max_body_size=SMALL,
    ),
    Ruled(f"{DESK}/devices/{{device}}/known", members.know_copy, {"POST": door.DESK}, max_body_size=SMALL),
    Ruled(f"{DESK}/confirm", members.confirm, {"POST": door.DESK}, max_body_size=SMALL),
    Ruled(f"{DESK}/start", start.start, {"GET": door.DESK, "POST": door.DESK}, max_body_size=SMALL),
    Ruled(f"{DESK}/access", people.access, {"GET": READERS, "POST": READERS}, max_body_size=SMALL),
    Ruled(f"{DESK}/people", people.people, {"GET": OWNERS, "POST": OWNERS}, max_body_size=SMALL),
    Ruled(f"{DESK}/people/{{person}}/reset", people.reset, {"POST": OWNERS}, max_body_size=SMALL),
    Ruled(f"{DESK}/people/{{person}}/confirm", people.confirm, {"POST": OWNERS}, max_body_size=SMALL),
    Ruled(
        f"{DESK}/people/{{person}}/out",
        people.shut_out,
        {"GET": OWNERS, "POST": OWNERS},
        max_body_size=SMALL,
    ),
    Ruled(f"{DESK}/keeping", keeping.keeping, {"GET": door.DESK, "POST": door.DESK}, max_body_size=SMALL),
    Ruled(f"{DESK}/files", take_in.take_in, {"POST": door.DESK}, max_body_size=take_in.LARGEST),
    Ruled(f"{DESK}/files/by/{{device}}", give_out.give_out_writer, {"GET": door.DESK}),
    Ruled(f"{DESK}/files/{{job}}", give_out.give_out, {"GET": READERS}),
    Ruled(f"{DESK}/photo/{{sha256}}", desk.photo_on_page, {"GET": READERS}),
    Ruled(
        f"{DESK}/{{path:path}}",
        desk.page,
        {"GET": READERS, "POST": door.DESK},
        middleware=PACKED,
        max_body_size=desk.MAX_FORM,
    ),
    Ruled("/worksheets", _worksheet, {"GET": ANYBODY}),
    Ruled("/worksheets/{key}", _worksheet, {"GET": ANYBODY}),
    Ruled("/{path:path}", site.serve, {"GET": ANYBODY}),
]


async def _each_day(app: Starlette) -> None:
    """What has been kept as long as the shop wants goes."""
    while True:
        try:
            await run_in_threadpool(keeping.erase_what_is_due, app.state.desk, app.state.shop)
        except (OSError, sqlite3.Error) as error:  # a full disk, say: tomorrow again
            print(f"layby: closed jobs could not be tidied: {error}", file=sys.stderr, flush=True)
        await asyncio.sleep(DAY)


def create(settings: Settings, book: desk.Book | None = None) -> Starlette:
    """The server over one data folder. `book` answers the desk's pages; by default the real notebook.

    Raises:
        Damaged: the database is damaged, or gone from a shop that had one.
        ValueError: there is no build yet, or the folder cannot be used.
    """
    insist_on_database(settings.data / "layby.db")
    here = Shop(settings)
    here.store.insist_on_whole()
    here.key.load()
    pages = notebook.Pages()

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        here.photos.tidy()
        tasks = [asyncio.create_task(each) for each in (_each_day(app), rot.look(here.photos))]
        yield
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        here.close()

    app = Starlette(
        routes=ROUTES,
        middleware=[Middleware(Arrival), Middleware(SecurityHeaders), Middleware(observe.Observed)],
        exception_handlers={
            errors.Refused: errors.refused,
            HTTPException: errors.http,
            OSError: errors.no_room,
            sqlite3.OperationalError: errors.no_room,
        },
        lifespan=lifespan,
    )
    app.state.shop = here
    app.state.desk = desk.Desk(here, book or notebook.load(settings.dist, pages), pages.render)
    return app
