"""`POST /enrol` and `POST /sync`: how a phone joins the shop, and how their records become the same set."""

import zlib
from typing import Annotated, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from server import door, entries, guard, shop
from server.errors import Refused
from server.ledger import REPLY_SIZE

PROTOCOL = 1
MAX_WIRE = 4 * 1024 * 1024  # of a request as it is sent
MAX_BODY = 16 * 1024 * 1024  # the same, unpacked
MAX_RECORDS = 1000  # in one request

Model = TypeVar("Model", bound=BaseModel)


class Enrolment(BaseModel):
    model_config = ConfigDict(strict=True)

    code: Annotated[str, Field(max_length=40)]
    device: entries.Id
    name: Annotated[str, Field(min_length=1, max_length=60)]


class Batch(BaseModel):
    model_config = ConfigDict(strict=True)

    protocol: int
    device: entries.Id
    epoch: Annotated[str, Field(max_length=64)]
    cursor: Annotated[int, Field(ge=0, le=entries.SAFE_INTEGER)]
    records: Annotated[list[str], Field(max_length=MAX_RECORDS)]
    # How much of others' records the phone wants back at most, in characters: what its line bears.
    room: Annotated[int, Field(ge=1)] = REPLY_SIZE


async def enrol(request: Request) -> Response:
    asked = _parsed(Enrolment, await body(request))
    here, address = shop.of(request), guard.address(request)
    here.tried_codes.begin(address, shop.now())
    token = await run_in_threadpool(here.access.enrol, asked.code, asked.device, asked.name, shop.now())
    here.tried_codes.right(address)
    return JSONResponse({"token": token})


async def sync(request: Request) -> Response:
    device = door.who(request).device
    batch = _parsed(Batch, await body(request))
    if batch.protocol != PROTOCOL:
        raise Refused(
            409,
            "protocol",
            f"This server speaks version {PROTOCOL} of the protocol, the phone {batch.protocol}.",
        )
    if batch.device != device:
        raise Refused(403, "other_device", "The token belongs to another device than the one named.")
    return await run_in_threadpool(_merge, shop.of(request), batch)


def _merge(here: shop.Shop, batch: Batch) -> Response:
    ledger, now = here.ledger, shop.now()
    taken, refused = ledger.take(batch.device, batch.records, now)
    # A cursor of another epoch counts another store's records: start again.
    start = batch.cursor if batch.epoch == here.store.epoch else 0
    records, cursor, more = ledger.since(start, batch.device, batch.room)
    return JSONResponse(
        {
            "epoch": here.store.epoch,
            "time": now,
            "taken": taken,
            "refused": refused,
            "records": records,
            "cursor": cursor,
            "more": more,
            "photos_wanted": ledger.wanted(batch.device),
            "gaps": ledger.gaps(batch.device),
        }
    )


async def body(request: Request) -> bytes:
    """The request's body, unpacked.

    Raises:
        Refused: it is packed in a way the server does not know, is damaged, or unpacks to too much.
    """
    raw = bytearray()
    async for chunk in request.stream():
        raw += chunk
        if len(raw) > MAX_WIRE:
            raise Refused(413, "too_large", f"The body is larger than {MAX_WIRE // 2**20} MB.")
    encoding = request.headers.get("Content-Encoding", "identity").lower()
    if encoding == "identity":
        return bytes(raw)
    if encoding != "gzip":
        raise Refused(415, "encoding", "The body is packed in a way this server does not know; use gzip.")
    return await run_in_threadpool(_unpacked, bytes(raw))


def _unpacked(raw: bytes) -> bytes:
    unpacker = zlib.decompressobj(wbits=31)
    try:
        content = unpacker.decompress(raw, MAX_BODY)
    except zlib.error:
        raise Refused(400, "damaged", "The gzip body is damaged; send it again.") from None
    if unpacker.unconsumed_tail:
        raise Refused(413, "too_large", f"The body unpacks to more than {MAX_BODY // 2**20} MB.")
    if not unpacker.eof:
        raise Refused(400, "damaged", "The gzip body ends too early; send it again.")
    return content


def _parsed(model: type[Model], content: bytes) -> Model:
    try:
        return model.model_validate(entries.json_value(content))
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(map(str, first["loc"])) or "the body"
        raise Refused(400, "malformed", f"Field {where}: {first['msg']}.") from None
    except ValueError as error:
        raise Refused(400, "malformed", str(error)) from None
