"""Finds photos that were damaged on the disk before somebody wants to see them: a slow round over all."""

import asyncio
import time

from starlette.concurrency import run_in_threadpool

from server import observe
from server.store.photos import Photos

FIRST = 60.0  # seconds after the start
SHARE = 50  # the disk rests this many times as long as a photo took
LEAST = 1.0  # seconds between two photos: 86,400 a day
BETWEEN = 3600.0  # seconds between two rounds


async def look(photos: Photos) -> None:
    """Until it is cancelled. What is found is put aside and asked back from the phones."""
    await asyncio.sleep(FIRST)
    while True:
        for sha256 in await run_in_threadpool(photos.names):
            begun = time.monotonic()
            try:
                await run_in_threadpool(_one, photos, sha256)
            except Exception as error:  # a full disk, say: the next round comes by again
                observe.LOG.error("failed", extra={"fields": {"route": "rot", **observe.described(error)}})
            await asyncio.sleep(max(LEAST, SHARE * (time.monotonic() - begun)))
        await asyncio.sleep(BETWEEN)


def _one(photos: Photos, sha256: str) -> None:
    if not photos.is_sound(sha256, anew=True):
        observe.LOG.warning("damaged photo")
        photos.ask_back(sha256)
