"""Writes jobs as a file: a zip of records, verbatim, and photos (handbook: without-a-server)."""

import json
import shutil
import zipfile
from typing import IO

from server.store import entries, shop

RECORDS = "records.jsonl"
ABOUT = "layby.json"
PHOTOS = "photos/"
ENDINGS = {"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}


def write(here: shop.Shop, out: IO[bytes], job: str) -> int:
    """One job, or with "" everything; the size of the file."""
    named: dict[str, None] = {}
    count = 0
    with zipfile.ZipFile(out, "w") as file:
        with file.open(_member(RECORDS, zipfile.ZIP_DEFLATED), "w") as lines:
            for text in here.ledger.texts(job):
                lines.write(line(text).encode())
                photo = _photo(text)
                named |= {photo: None} if photo else {}
                count += 1
        missing = [sha256 for sha256 in named if not _add_photo(here, file, sha256)]
        about = {
            "format": "layby",
            "version": 1,
            "made": shop.now(),
            "by": here.access.desk()[1],
            "job": job or "all",
            "records": count,
            "photos": len(named) - len(missing),
            "photos_missing": missing,
        }
        file.writestr(_member(ABOUT, zipfile.ZIP_DEFLATED), json.dumps(about))
    return out.tell()


def _photo(text: str) -> str:
    """A damaged record goes into the file as it is, and names no photo."""
    try:
        return entries.read(text).photo
    except ValueError:
        return ""


def line(text: str) -> str:
    """A record's text stands as it is; one with a line break of its own is written as a JSON string."""
    return (json.dumps(text) if "\n" in text or "\r" in text else text) + "\n"


def _add_photo(here: shop.Shop, file: zipfile.ZipFile, sha256: str) -> bool:
    kept = here.photos.kept(sha256)
    if kept is None:
        return False
    path, kind = kept
    member = _member(f"{PHOTOS}{sha256}{ENDINGS.get(kind, '')}", zipfile.ZIP_STORED)
    with path.open("rb") as photo, file.open(member, "w") as out:
        shutil.copyfileobj(photo, out)
    return True


def _member(name: str, packing: int) -> zipfile.ZipInfo:
    member = zipfile.ZipInfo(name)
    member.compress_type = packing
    return member
