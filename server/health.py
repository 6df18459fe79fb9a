"""`/health`, for whoever restarts a server that is stuck."""

import shutil
import sqlite3

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from server.store import shop

NO_STORE = {"Cache-Control": "no-store"}


async def health(request: Request) -> Response:
    """200 while records can be stored, 503 otherwise."""
    trouble = await run_in_threadpool(_trouble, shop.of(request))
    return JSONResponse({"status": trouble or "ok"}, 503 if trouble else 200, NO_STORE)


def _trouble(here: shop.Shop) -> str:
    try:
        with here.store.transaction() as db:  # takes the write lock, and writes nothing
            db.execute("select 1 from facts").fetchone()
        if here.store.failed:  # a quota says no although the disk has room
            here.store.try_to_write()
    except sqlite3.Error:
        return "database"
    return "disk" if free(here) < here.settings.spare_bytes else ""


def free(here: shop.Shop) -> int:
    return shutil.disk_usage(here.settings.data).free
