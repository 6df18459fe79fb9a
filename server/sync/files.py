"""Jobs as files at the desk, given out and taken in: what goes between shops and phones without a network."""

import tempfile
from collections.abc import Iterator
from typing import IO

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse

from server.errors import Refused
from server.store import shop
from server.sync import file_in, file_out

ALL = "all"
LARGEST = 1024 * 1024 * 1024  # bytes of a file taken in
CHUNK = 256 * 1024


async def give_out(request: Request) -> Response:
    """One job, or all of them, as a file."""
    here, job = shop.of(request), request.path_params["job"]
    file = _scratch(here)
    size = await run_in_threadpool(file_out.write, here, file, "" if job == ALL else job)
    name = "layby-all.zip" if job == ALL else "layby-job.zip"
    headers = {
        "Cache-Control": "no-store",
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Length": str(size),
    }
    return StreamingResponse(_chunks(file), headers=headers, media_type="application/zip")


async def take_in(request: Request) -> Response:
    """A file that was made here, at another desk or on a phone; it is the body as it stands."""
    here, size = shop.of(request), 0
    with _scratch(here) as file:
        async for chunk in request.stream():
            size += len(chunk)
            if size > LARGEST:
                raise Refused(413, "too_large", "The file is larger than 1 GB.")
            await run_in_threadpool(file.write, chunk)
        return JSONResponse(await run_in_threadpool(file_in.take, here, file))


def _scratch(here: shop.Shop) -> IO[bytes]:
    """A file without a name on the disk that photos go to: it is gone whatever happens."""
    return tempfile.TemporaryFile(dir=here.photos.partial)


def _chunks(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while chunk := file.read(CHUNK):
            yield chunk
