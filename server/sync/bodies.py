"""What a phone sends as JSON: bounded as it is read and unpacked, and looked over before it is parsed."""

import re
import zlib
from typing import Any, NamedTuple, TypeVar

from pydantic import BaseModel, ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

from server.errors import Refused
from server.store import entries


class Most(NamedTuple):
    """The largest body, in bytes: as it is sent, and unpacked."""

    wire: int
    unpacked: int


# Somebody who may be anybody says little. Phones of earlier releases pack this, too.
LITTLE = Most(wire=4096, unpacked=4096)
RECORDS = Most(wire=4 * 1024 * 1024, unpacked=16 * 1024 * 1024)

# Records are strings. What stands outside of strings is dear: 16 MB of brackets become millions of objects.
STRING = re.compile(rb'"[^"\\]*(?:\\.[^"\\]*)*"', re.DOTALL)
MOST_STRINGS = 8000
MOST_OUTSIDE = 64 * 1024  # bytes

Model = TypeVar("Model", bound=BaseModel)


async def read(request: Request, most: Most) -> bytes:
    """The request's body, unpacked.

    Raises:
        Refused: it is packed in a way the server does not know, is damaged, or is larger than `most`.
    """
    raw = bytearray()
    async for chunk in request.stream():
        raw += chunk
        if len(raw) > most.wire:
            raise Refused(413, "too_large", f"The body is larger than {_size(most.wire)}.")
    encoding = request.headers.get("Content-Encoding", "identity").lower()
    if encoding == "identity":
        return bytes(raw)
    if encoding != "gzip":
        raise Refused(415, "encoding", "The body is packed in a way this server does not know; use gzip.")
    if most.unpacked <= LITTLE.unpacked:
        return _unpacked(raw, most)
    return await run_in_threadpool(_unpacked, raw, most)


def _unpacked(raw: bytearray, most: Most) -> bytes:
    unpacker = zlib.decompressobj(wbits=31)
    try:
        content = unpacker.decompress(raw, most.unpacked)
    except zlib.error:
        raise Refused(400, "damaged", "The gzip body is damaged; send it again.") from None
    if unpacker.unconsumed_tail:
        raise Refused(413, "too_large", f"The body unpacks to more than {_size(most.unpacked)}.")
    if not unpacker.eof:
        raise Refused(400, "damaged", "The gzip body ends too early; send it again.")
    return content


def parsed(model: type[Model], content: bytes) -> Model:
    """Raises Refused for JSON that is no `model`, or no JSON."""
    return fitting(model, value(content))


def value(content: bytes) -> Any:
    """Raises Refused when it is no JSON."""
    try:
        _insist_on_strings(content)
        return entries.json_value(content.decode())
    except UnicodeDecodeError:
        raise Refused(400, "malformed", "This is not JSON: it is not in UTF-8.") from None
    except ValueError as error:
        raise Refused(400, "malformed", str(error)) from None


def fitting(model: type[Model], value: Any) -> Model:
    """Raises Refused, with the field that is wrong, when the value is no `model`."""
    try:
        return model.model_validate(value)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(map(str, first["loc"])) or "the body"
        raise Refused(400, "malformed", f"Field {where}: {first['msg']}.") from None


def _insist_on_strings(content: bytes) -> None:
    """Raises ValueError when parsing would make far more objects than any phone's message has."""
    at = outside = 0
    for _ in range(MOST_STRINGS):
        quote = content.find(b'"', at)
        outside += (len(content) if quote < 0 else quote) - at
        if outside > MOST_OUTSIDE:
            raise ValueError("The JSON has too many values.")
        if quote < 0:
            return
        string = STRING.match(content, quote)
        if string is None:
            raise ValueError("This is not JSON: a string has no end.")
        at = string.end()
    raise ValueError("The JSON has too many values.")


def _size(count: int) -> str:
    return f"{count // 2**20} MB" if count >= 2**20 else f"{count // 1024} KB"
