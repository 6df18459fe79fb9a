"""The phone's app as the build left it in pwa/dist: files, their types, and how long they may be kept."""

import functools
import gzip
import hashlib
from pathlib import Path
from typing import NamedTuple

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pwa.app import contract
from server.errors import Refused
from server.store import shop

TYPES = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".ico": "image/x-icon",
    ".jpg": "image/jpeg",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".mjs": "text/javascript; charset=utf-8",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".wasm": "application/wasm",
    ".webmanifest": "application/manifest+json",
    ".webp": "image/webp",
    ".woff2": "font/woff2",
}


class File(NamedTuple):
    body: bytes
    packed: bytes  # the same by gzip, or empty when that gains nothing
    etag: str
    type: str


async def serve(request: Request) -> Response:
    """A built file; for any other page the app's first page, so that a hard reload finds its way back."""
    return await run_in_threadpool(_serve, request)


def _serve(request: Request) -> Response:
    dist, path = shop.of(request).settings.dist.resolve(), str(request.scope["path"])
    file = _find(dist, path)
    if file is None:
        wants_page = "text/html" in request.headers.get("Accept", "")
        file = _find(dist, "/index.html") if wants_page and not _elsewhere(path) else None
    if file is None:
        raise Refused(404, "not_found", "There is no such page or file.")
    return _answer(request, file, path)


def _answer(request: Request, file: File, path: str) -> Response:
    headers = {
        "ETag": file.etag,
        "Vary": "Accept-Encoding",
        # Keep it, but ask each time whether it is still the newest: the worker keeps its own copies anyway.
        "Cache-Control": "no-cache",
    }
    if path == contract.WORKER:
        headers["Service-Worker-Allowed"] = "/"
    if file.etag in request.headers.get("If-None-Match", ""):
        return Response(status_code=304, headers=headers)
    body = file.body
    if file.packed and "gzip" in request.headers.get("Accept-Encoding", ""):
        body, headers["Content-Encoding"] = file.packed, "gzip"
    return Response(body, headers={**headers, "Content-Type": file.type})


def _find(dist: Path, path: str) -> File | None:
    """The file that a path names: itself, or the page in a folder of that name; never outside `dist`."""
    try:
        found = (dist / path.lstrip("/")).resolve()
        if found.is_dir():
            found /= "index.html"
        if not found.is_relative_to(dist) or not found.is_file():
            return None
        status = found.stat()
    except (OSError, ValueError):  # a name too long, or with a zero byte in it
        return None
    return _load(found, status.st_mtime_ns, status.st_size)


@functools.lru_cache(maxsize=512)
def _load(path: Path, changed: int, size: int) -> File:
    """A file in memory with its packed form; a new build has other times, so it is read anew."""
    body = path.read_bytes()
    packed = gzip.compress(body, 9, mtime=0)
    return File(
        body=body,
        packed=packed if len(packed) < 0.9 * len(body) else b"",
        etag=f'"{hashlib.sha256(body).hexdigest()[:32]}"',
        type=TYPES.get(path.suffix, "application/octet-stream"),
    )


def _elsewhere(path: str) -> bool:
    return any(path == place or path.startswith(place + "/") for place in contract.SERVER)
