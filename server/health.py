"""`/health`, for whoever restarts a server that is stuck."""

import shutil
import sqlite3

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from server.store import shop

PATIENCE = 0.1  # seconds until somebody else's writing counts instead of one's own
NO_STORE = {"Cache-Control": "no-store"}


async def health(request: Request) -> Response:
    """200 while records can be stored, 503 otherwise. `?seen` adds what the server sees of who asks."""
    trouble = await shop.of(request).turns.health(_trouble, shop.of(request))
    answer = {"status": trouble or "ok", **(_seen(request) if "seen" in request.query_params else {})}
    return JSONResponse(answer, 503 if trouble else 200, NO_STORE)


def _seen(request: Request) -> dict[str, str]:
    """Whether a proxy on the way passes on what it should is to be seen only from behind it."""
    return {
        "scheme": request.url.scheme,
        "host": request.headers.get("Host", ""),
        "address": request.client.host if request.client else "",
        "forwarded": request.headers.get("X-Forwarded-For", ""),
    }


def _trouble(here: shop.Shop) -> str:
    try:
        here.store.insist_on_writing(PATIENCE)
    except sqlite3.Error:
        return "database"
    return "disk" if free(here) < here.settings.spare_bytes else ""


def free(here: shop.Shop) -> int:
    return shutil.disk_usage(here.settings.data).free
