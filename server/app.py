"""The server's address table."""

import contextlib
from collections.abc import AsyncIterator

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Mount, Route

from server import carry, desk, errors, notebook, site, sync, uploads
from server.guard import DESK, Guard, is_inside
from server.headers import SecurityHeaders
from server.settings import Settings
from server.shop import Shop


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

ROUTES = [
    Route("/enrol", sync.enrol, methods=["POST"]),
    Route("/sync", sync.sync, methods=["POST"], middleware=PACKED),
    Route("/uploads", uploads.options, methods=["OPTIONS"]),
    Route("/uploads", uploads.create, methods=["POST"]),
    Route("/uploads/{sha256}", uploads.options, methods=["OPTIONS"]),
    Route("/uploads/{sha256}", uploads.resume, methods=["HEAD", "PATCH", "POST"]),
    Route("/photos/{sha256}", desk.shared_photo),
    Route(DESK, _to_desk),
    Mount(
        DESK,
        routes=[
            Route("/enter", desk.enter, methods=["GET", "POST"], max_body_size=64 * 1024),
            Route("/leave", desk.leave, methods=["POST"]),
            Route("/devices", desk.devices, methods=["GET", "POST"], max_body_size=64 * 1024),
            Route("/photo/{sha256}", desk.photo_on_page),
            Route("/files", carry.take_in, methods=["POST"], max_body_size=carry.LARGEST),
            Route("/files/{job}", carry.give_out),
            Route("/{path:path}", desk.page, methods=["GET", "POST"], max_body_size=desk.MAX_FORM),
        ],
        middleware=[Middleware(Guard), *PACKED],
    ),
    Route("/work", _worksheet),
    Route("/work/{key}", _worksheet),
    Route("/{path:path}", site.serve),
]


def create(settings: Settings, book: desk.Book | None = None) -> Starlette:
    """The server over one data folder. `book` answers the desk's pages; by default the real notebook.

    Raises:
        ValueError: there is no build yet.
    """
    here = Shop(settings)
    pages = notebook.Pages()

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        yield
        here.close()

    app = Starlette(
        routes=ROUTES,
        middleware=[Middleware(SecurityHeaders)],
        exception_handlers={
            errors.Refused: errors.refused,
            HTTPException: errors.http,
            Exception: _failed,
        },
        lifespan=lifespan,
    )
    app.state.shop = here
    app.state.desk = desk.Desk(here, book or notebook.load(settings.dist, pages), pages.render)
    return app


async def _failed(request: Request, error: Exception) -> Response:
    return errors.reply(500, "failed", "The server could not do this. Nothing of it was stored.")
