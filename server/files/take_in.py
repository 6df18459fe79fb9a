"""Takes in a file of jobs at the desk. Nothing in it is believed.

Names decide nothing, sizes are bounded before and while unpacking, records go through the ledger, and a photo
is kept only if its own hash is one that a record names.
"""

import errno
import hashlib
import io
import secrets
import zipfile
import zlib
from pathlib import Path
from typing import IO, NamedTuple, TypedDict

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from pwa.app import contract
from server.errors import Refused
from server.files.layout import CHUNK, scratch, text_on
from server.store import entries, shop
from server.store.entries import Entry

LARGEST, MOST_FILES, RECORDS_SIZE = (contract.DESK_TAKES[what] for what in ("bytes", "files", "records"))
DIRECTORY_SIZE = 4 * 1024 * 1024  # of the zip's list of files
UNPACKED = 2 * 1024 * 1024 * 1024  # of all photos together
BATCH = 1000  # records in one transaction
MOST_WRONG = 1000  # lines without an entry, more than there are entries
END, END_64 = b"PK\5\6", b"PK\6\7"  # the last record of a zip, and the one that leads to its 64-bit form
END_SIZE, COMMENT_SIZE, END_64_SIZE = 22, 65_535, 20
FAILURES = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError)
OURS = (errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EROFS)  # the disk's failures, not the file's
DAMAGED = "This file is damaged, or no zip."


class Told(TypedDict):
    """What became of a file: entries and photos that are new, entries that were here, refusals by name."""

    jobs: int
    taken: int
    had: int
    photos: int
    refused: int
    named: list[str]


async def take_in(request: Request) -> Response:
    """A file that was made here, at another desk or on a phone; it is the body as it stands."""
    here, size = shop.of(request), 0
    with scratch(here) as file:
        async for chunk in request.stream():
            size += len(chunk)
            if size > LARGEST:
                raise Refused(413, "too_large", f"The file is larger than {LARGEST // 2**30} GB.")
            await run_in_threadpool(file.write, chunk)
        return JSONResponse(await here.turns.files(take, here, file))


def take(here: shop.Shop, content: IO[bytes]) -> Told:
    """Merge a file as sync merges: what is here stays, what is new is added, what does not fit is named.

    Raises:
        Refused: it is no such file, or larger inside than any that Layby makes.
    """
    _check_directory(content)
    try:
        with zipfile.ZipFile(content) as file:
            return _merge(here, file)
    except FAILURES as error:
        _raise_if_ours(error)
        raise Refused(422, "damaged", DAMAGED) from None


def _raise_if_ours(error: Exception) -> None:
    if isinstance(error, OSError) and error.errno in OURS:
        raise error


def _check_directory(content: IO[bytes]) -> None:
    """Refuse a list of files that is too long before anything reads it (PKWARE APPNOTE 6.3, 4.3.16)."""
    size = content.seek(0, 2)
    content.seek(max(0, size - END_SIZE - COMMENT_SIZE - END_64_SIZE))
    end = content.read()
    at = end.rfind(END)
    if at < 0 or len(end) < at + END_SIZE:
        raise Refused(422, "damaged", DAMAGED)
    count = int.from_bytes(end[at + 10 : at + 12], "little")
    length = int.from_bytes(end[at + 12 : at + 16], "little")
    is_64 = end[:at].rfind(END_64) == at - END_64_SIZE
    if is_64 or count > MOST_FILES or length > DIRECTORY_SIZE:
        raise Refused(422, "too_large", f"More than {MOST_FILES} files are in it.")


class Refusals:
    """How many there are, and the first of them in words: a small file may hold millions."""

    def __init__(self) -> None:
        self.count = 0
        self.named: list[str] = []

    def add(self, words: str) -> None:
        self.count += 1
        if len(self.named) < contract.NAMED:
            self.named.append(words)


class Found(NamedTuple):
    """What is needed of an entry until all are here; they are many, so no more than that."""

    device: str
    seq: int
    id: str
    job: str
    photo: str
    text: str


def _merge(here: shop.Shop, file: zipfile.ZipFile) -> Told:
    refused = Refusals()
    found = _records(file, refused)
    found.sort(key=lambda entry: (entry.device, entry.seq))
    _leave_chain(here, found)
    taken = had = 0
    out: set[str] = set()
    for at in range(0, len(found), BATCH):
        texts = [entry.text for entry in found[at : at + BATCH]]
        new, known, wrong = here.ledger.carry(texts, shop.now())
        taken, had = taken + new, had + known
        out |= {refusal["id"] for refusal in wrong}
        for refusal in wrong:
            refused.add(f"Entry {refusal['seq']}: {refusal['message']}")
    good = [entry for entry in found if entry.id not in out]
    kept = _photos(here, file, {entry.photo for entry in good if entry.photo}, refused)
    return {
        "jobs": len({entry.job for entry in good} - {contract.SHOP}),
        "taken": taken,
        "had": had,
        "photos": kept,
        "refused": refused.count,
        "named": refused.named,
    }


def _leave_chain(here: shop.Shop, found: list[Found]) -> None:
    """What the desk wrote and has lost, or never wrote: either way it goes on under another number.

    So no number is used twice, and nothing that comes back is contradicted.
    """
    ends = {own: here.ledger.head(own)[0] for own in here.access.desks()}
    if any(entry.seq > ends.get(entry.device, entry.seq) for entry in found):
        here.access.retire_desk()


def _records(file: zipfile.ZipFile, refused: Refusals) -> list[Found]:
    try:
        with file.open(contract.FILE_RECORDS) as lines:
            content = lines.read(RECORDS_SIZE + 1)
    except KeyError:
        message = "This is no file that Layby made: it holds no entries."
        raise Refused(422, "no_records", message) from None
    if len(content) > RECORDS_SIZE:
        raise Refused(422, "too_large", f"Its entries are more than {RECORDS_SIZE // 2**20} MB.")
    found: list[Found] = []
    for number, line in enumerate(io.BytesIO(content), 1):
        try:
            if line.strip():
                text = text_on(line.removesuffix(b"\n"))
                found.append(_found(entries.read(text), text))
        except ValueError as error:
            refused.add(f"Line {number}: this is no entry. {error}")
        if refused.count > MOST_WRONG + len(found):
            message = f"This is no file that Layby made: most of its first {number} lines hold no entry."
            raise Refused(422, "no_records", message)
    return found


def _found(entry: Entry, text: str) -> Found:
    return Found(entry.device, entry.seq, entry.id, entry.job, entry.photo, text)


def _photos(here: shop.Shop, file: zipfile.ZipFile, wanted: set[str], refused: Refusals) -> int:
    kept = unpacked = 0
    members = [member for member in file.infolist() if member.filename.startswith(contract.FILE_PHOTOS)]
    for number, member in enumerate(members, 1):
        part = here.photos.partial / f"file.{secrets.token_hex(8)}"
        try:
            sha256, size = _unpack(file, member, part)
            unpacked += size
            if unpacked > UNPACKED:
                raise Refused(422, "too_large", f"Its photos are more than {UNPACKED // 2**30} GB.")
            if size > contract.PHOTO_BYTES:
                refused.add(f"Photo {number}: it is larger than {contract.PHOTO_BYTES // 2**20} MB.")
            elif sha256 not in wanted:
                refused.add(f"Photo {number}: no entry names it, or it was changed.")
            elif not here.photos.has(sha256):
                here.photos.keep(part, sha256, shop.now())
                kept += 1
        except FAILURES as error:
            _raise_if_ours(error)
            refused.add(f"Photo {number}: it is damaged.")
        finally:
            part.unlink(missing_ok=True)
    return kept


def _unpack(file: zipfile.ZipFile, member: zipfile.ZipInfo, part: Path) -> tuple[str, int]:
    """Hash and size of a photo, written to `part`; one that is too large is not read to its end."""
    digest, size = hashlib.sha256(), 0
    with file.open(member) as photo, part.open("wb") as out:
        while size <= contract.PHOTO_BYTES and (chunk := photo.read(CHUNK)):
            digest.update(chunk)
            size += out.write(chunk)
    return digest.hexdigest(), size
