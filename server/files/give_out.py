"""Gives jobs out as a file at the desk: records verbatim, and their photos."""

import itertools
import json
import shutil
import zipfile
from collections.abc import Iterator
from typing import IO

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from pwa.app import contract
from server.files.layout import CHUNK, line, scratch
from server.store import entries, shop


async def give_out(request: Request) -> Response:
    """One job, or all of them, as a file."""
    here, job = shop.of(request), request.path_params["job"]
    is_all = job == contract.ALL
    name = contract.FILE_OF_ALL if is_all else contract.FILE_OF_JOB
    file = scratch(here)
    size = await here.turns.files(write, here, file, "" if is_all else job)
    return _sent(file, size, name)


async def give_out_writer(request: Request) -> Response:
    """Everything that one phone, or one person at the desk, has written."""
    here, device = shop.of(request), request.path_params["device"]
    file = scratch(here)
    size = await here.turns.files(write, here, file, "", device)
    return _sent(file, size, contract.FILE_OF_ALL)


def _sent(file: IO[bytes], size: int, name: str) -> Response:
    headers = {
        "Cache-Control": "no-store",
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Length": str(size),
    }
    return StreamingResponse(_chunks(file), headers=headers, media_type="application/zip")


def _chunks(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while chunk := file.read(CHUNK):
            yield chunk


def write(here: shop.Shop, out: IO[bytes], job: str, device: str = "") -> int:
    """One job, or with "" everything, or what one device wrote; the size of the file."""
    named: dict[str, None] = {}
    count = 0
    with zipfile.ZipFile(out, "w") as file:
        with file.open(_member(contract.FILE_RECORDS, zipfile.ZIP_DEFLATED), "w") as lines:
            texts = here.ledger.texts(job, device)
            for text in itertools.chain(texts, here.ledger.names_in(job) if job else ()):
                lines.write(line(text).encode())
                photo = _photo(text)
                named |= {photo: None} if photo else {}
                count += 1
        missing = [sha256 for sha256 in named if not _add_photo(here, file, sha256)]
        about = {
            "format": contract.FILE_FORMAT,
            "version": contract.FILE_VERSION,
            "made": shop.now(),
            "by": here.facts.shop_name or "Desk",
            "job": job or contract.ALL,
            "records": count,
            "photos": len(named) - len(missing),
            "photos_missing": missing,
        }
        file.writestr(_member(contract.FILE_ABOUT, zipfile.ZIP_DEFLATED), json.dumps(about))
    return out.tell()


def _photo(text: str) -> str:
    """A damaged record goes into the file as it is, and names no photo."""
    try:
        return entries.read(text).photo
    except ValueError:
        return ""


def _add_photo(here: shop.Shop, file: zipfile.ZipFile, sha256: str) -> bool:
    kept = here.photos.kept(sha256)
    if kept is None:
        return False
    path, kind = kept
    name = f"{contract.FILE_PHOTOS}{sha256}{contract.FILE_ENDINGS.get(kind, '')}"
    member = _member(name, zipfile.ZIP_STORED)
    with path.open("rb") as photo, file.open(member, "w") as out:
        shutil.copyfileobj(photo, out)
    return True


def _member(name: str, packing: int) -> zipfile.ZipInfo:
    member = zipfile.ZipInfo(name)
    member.compress_type = packing
    return member
