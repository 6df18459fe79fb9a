"""`/uploads`: photos by the tus 1.0 resumable upload protocol (core, creation, checksum).

Source: https://tus.io/protocols/resumable-upload, version 1.0.0.

An upload's address is the photo's hash, and the phone that asks is known, so a phone that forgot
everything but the photo finds its upload again: creating it a second time answers with what is here.
What arrived of a cut request is kept.
"""

import base64
import binascii
import hashlib
import re
from pathlib import Path
from typing import Any, NamedTuple

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from pwa.app import contract
from server import door, health
from server.errors import Refused
from server.store import entries, shop
from server.store.photos import WITHDRAWN

VERSION = "1.0.0"
TUS = {"Tus-Resumable": VERSION}
CHECKSUMS = ("sha256", "sha1")
MAX_COMING = 100  # photos of one phone that are here by half


class Upload(NamedTuple):
    device: str
    sha256: str
    length: int
    metadata: str
    offset: int

    @property
    def headers(self) -> dict[str, str]:
        return {
            **TUS,
            "Upload-Offset": str(self.offset),
            "Upload-Length": str(self.length),
            "Upload-Metadata": self.metadata,
            "Cache-Control": "no-store",
        }


async def options(request: Request) -> Response:
    return Response(
        status_code=204,
        headers={
            **TUS,
            "Tus-Version": VERSION,
            "Tus-Extension": "creation,checksum",
            "Tus-Checksum-Algorithm": ",".join(CHECKSUMS),
            "Tus-Max-Size": str(contract.PHOTO_BYTES),
        },
    )


async def create(request: Request) -> Response:
    device = _phone(request)
    length = _number(request, "Upload-Length")
    if not 0 < length <= contract.PHOTO_BYTES:
        raise _refused(
            413, "too_large", f"A photo may have {contract.PHOTO_BYTES // 2**20} MB, and not nothing."
        )
    metadata = request.headers.get("Upload-Metadata", "")
    sha256 = _metadata(metadata).get("sha256", "")
    if not entries.is_sha256(sha256):
        raise _refused(
            400, "no_hash", "Upload-Metadata must name the photo's sha256, 64 hex digits in base64."
        )
    upload = await run_in_threadpool(_begin, shop.of(request), device, sha256, length, metadata)
    return Response(status_code=201, headers={**upload.headers, "Location": f"{contract.UPLOADS}/{sha256}"})


async def resume(request: Request) -> Response:
    """HEAD says how much is here, PATCH sends more."""
    device, sha256 = _phone(request), request.path_params["sha256"]
    method = request.headers.get("X-HTTP-Method-Override", request.method).upper()
    upload = await run_in_threadpool(_find, shop.of(request), device, sha256)
    if method == "HEAD":
        return Response(headers=upload.headers)
    if method != "PATCH":
        raise _refused(405, "wrong_method", "An upload knows HEAD and PATCH.")
    if request.headers.get("Content-Type") != "application/offset+octet-stream":
        raise _refused(415, "wrong_type", "A PATCH carries application/offset+octet-stream.")
    if _number(request, "Upload-Offset") != upload.offset:
        raise _refused(409, "wrong_offset", f"{upload.offset} bytes are here; go on from there.")
    offset = await _receive(request, upload)
    if offset == upload.length:
        await run_in_threadpool(_finish, shop.of(request), upload)
    return Response(status_code=204, headers={**TUS, "Upload-Offset": str(offset)})


async def _receive(request: Request, upload: Upload) -> int:
    """Append what comes to the partial file; the offset reached.

    The bytes are written on the event loop, between two looks at the network: so the check that nobody
    else has taken this upload over, and the write, are one step.
    """
    here = shop.of(request)
    part, writers = _part(here, upload.device, upload.sha256), here.writers
    checksum, expected = _checksum(request)
    mine = writers[part] = object()
    offset = upload.offset
    try:
        with part.open("r+b") as file:
            file.seek(offset)
            async for chunk in request.stream():
                # A phone that lost its connection comes back before the old request has noticed.
                if writers.get(part) is not mine:
                    raise _refused(409, "taken_over", "A newer request goes on with this upload.")
                if offset + len(chunk) > upload.length:
                    file.truncate(upload.offset)
                    raise _refused(413, "too_long", "More bytes came than the upload was announced with.")
                offset += file.write(chunk)
                file.flush()
                if checksum:
                    checksum.update(chunk)
            if checksum and checksum.digest() != expected:
                file.truncate(upload.offset)
                raise _refused(460, "checksum", "The bytes do not fit their checksum; send them again.")
    except ClientDisconnect:
        pass  # nobody is there to read the answer; what arrived stays
    finally:
        if writers.get(part) is mine:
            del writers[part]
    return offset


def _begin(here: shop.Shop, device: str, sha256: str, length: int, metadata: str) -> Upload:
    if here.photos.is_gone(sha256):
        raise _refused(410, "withdrawn", WITHDRAWN)
    try:
        upload = _find(here, device, sha256)
    except Refused:
        upload = None
    if upload and upload.length == length:
        return upload
    _check_room(here, device, length - (upload.length if upload else 0))
    with here.store.transaction() as db:
        row = {"device": device, "sha256": sha256, "length": length, "metadata": metadata}
        db.table("uploads").insert(row, replace=True)
    _part(here, device, sha256).write_bytes(b"")
    return Upload(device, sha256, length, metadata, 0)


def _check_room(here: shop.Shop, device: str, length: int) -> None:
    """Raises Refused when a phone has sent all it may, or the disk should not be filled any further."""
    size, coming = here.photos.sent_by(device)
    if size + length > here.settings.device_bytes:
        gigabytes = here.settings.device_bytes / 1024**3
        raise _refused(
            413, "quota", f"This phone has sent the {gigabytes:.3g} GB that it may. Tell the desk."
        )
    if coming >= MAX_COMING:
        raise _refused(413, "too_many", f"{coming} photos of this phone are half here; finish them first.")
    if health.free(here) < here.settings.spare_bytes + length:
        raise _refused(507, "disk_full", "The shop's disk is almost full. The photo stays on the phone.")


def _find(here: shop.Shop, device: str, sha256: str) -> Upload:
    """How far an upload has come; a photo that is here is an upload that is complete."""
    done = here.store.rows("select size from photos where sha256 = ?", [sha256])
    if done and here.photos.has(sha256):
        return Upload(device, sha256, done[0]["size"], "", done[0]["size"])
    sql = "select length, metadata from uploads where device = ? and sha256 = ?"
    rows = here.store.rows(sql, [device, sha256])
    part = _part(here, device, sha256)
    # The server was stopped, or is just now, between moving the photo to its place and listing it.
    if rows and not part.exists() and here.photos.was_moved(sha256, shop.now(), device):
        return Upload(device, sha256, rows[0]["length"], rows[0]["metadata"], rows[0]["length"])
    if not rows or not part.exists():
        raise _refused(404, "no_upload", "This upload is not known here; create it first.")
    upload = Upload(device, sha256, rows[0]["length"], rows[0]["metadata"], part.stat().st_size)
    if upload.offset == upload.length:  # the server was stopped between the last byte and the end
        _finish(here, upload)
    return upload


def _finish(here: shop.Shop, upload: Upload) -> None:
    try:
        here.photos.keep(_part(here, upload.device, upload.sha256), upload.sha256, shop.now(), upload.device)
    except Refused as error:
        raise _refused(error.status, error.error, error.message) from None


def _part(here: shop.Shop, device: str, sha256: str) -> Path:
    return here.photos.partial / f"{device}.{sha256}"


def _phone(request: Request) -> str:
    if request.headers.get("Tus-Resumable") != VERSION:
        raise _refused(412, "tus_version", f"This server speaks tus {VERSION}.", {"Tus-Version": VERSION})
    return door.who(request).device


def _number(request: Request, name: str) -> int:
    value = request.headers.get(name, "")
    if not re.fullmatch(r"[0-9]{1,15}", value):
        raise _refused(400, "malformed", f"{name} must be a number of bytes.")
    return int(value)


def _metadata(header: str) -> dict[str, str]:
    """Upload-Metadata: pairs of a key and base64 text, with commas between."""
    if len(header) > 2000:
        raise _refused(400, "malformed", "Upload-Metadata is too long.")
    pairs = (pair.strip().partition(" ") for pair in header.split(",") if pair.strip())
    try:
        return {key: base64.b64decode(value, validate=True).decode() for key, _, value in pairs}
    except ValueError:  # of base64 or of UTF-8
        raise _refused(400, "malformed", "Upload-Metadata is not in base64.") from None


def _checksum(request: Request) -> tuple[Any, bytes]:
    header = request.headers.get("Upload-Checksum")
    if header is None:
        return None, b""
    name, _, value = header.partition(" ")
    try:
        expected = base64.b64decode(value, validate=True)
    except binascii.Error:
        expected = b""
    if name not in CHECKSUMS or not expected:
        raise _refused(400, "checksum_kind", f"Upload-Checksum is one of {', '.join(CHECKSUMS)}, in base64.")
    return hashlib.new(name), expected


def _refused(status: int, error: str, message: str, headers: dict[str, str] | None = None) -> Refused:
    return Refused(status, error, message, {**TUS, **(headers or {})})
