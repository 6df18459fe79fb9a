"""What the server insists on in a record's text before it keeps it; everything else in it is the app's."""

import json
import re
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from pwa.app.contract import RECORD_BYTES, RECORD_DEPTH

SAFE_INTEGER = 2**53 - 1  # the largest that JavaScript keeps exactly

Id = Annotated[str, Field(pattern=r"^[0-9A-Za-z-]{1,64}$")]
SHA256 = re.compile(r"[0-9a-f]{64}")


class Entry(BaseModel):
    """The fields of a record that every version has (pwa/app/record/chain.py); others are left alone."""

    model_config = ConfigDict(strict=True, extra="ignore")

    id: Id
    job: Id
    device: Id
    author: Annotated[str, Field(max_length=200)]
    seq: Annotated[int, Field(ge=1, le=SAFE_INTEGER)]
    prev: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")]
    clock: Annotated[str, Field(pattern=r"^[0-9]{15}\.[0-9]{7,}$", max_length=40)]
    time: Annotated[int, Field(ge=-SAFE_INTEGER, le=SAFE_INTEGER)]
    kind: Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{0,39}$")]
    replaces: Annotated[list[Id], Field(max_length=1000)]
    data: dict[str, Any]

    @property
    def photo(self) -> str:
        """SHA-256 of the photo that this record brings, or ""."""
        sha256 = self.data.get("sha256")
        is_named = self.kind == "photo" and isinstance(sha256, str) and SHA256.fullmatch(sha256)
        return str(sha256) if is_named else ""


def read(text: str) -> Entry:
    """The record in a text.

    Raises:
        ValueError: the text is no record; the sentence names the field.
    """
    if len(encoded(text)) > RECORD_BYTES:
        raise ValueError(f"The record is larger than {RECORD_BYTES // 1024} KB.")
    try:
        return Entry.model_validate(json_value(text))
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(map(str, first["loc"])) or "the record"
        raise ValueError(f"Field {where}: {first['msg']}.") from None


def encoded(text: str) -> bytes:
    """UTF-8 of a text; half a surrogate pair, which JSON can smuggle in, has none."""
    try:
        return text.encode()
    except UnicodeEncodeError:
        raise ValueError("The text is not valid Unicode.") from None


def json_value(text: str | bytes) -> Any:
    """As `json.loads`, without NaN and Infinity, which no browser reads back, and without deep nesting."""
    try:
        value = json.loads(text, parse_constant=_no_constant)
    except RecursionError:
        raise ValueError("The JSON is nested too deeply.") from None
    except ValueError as error:
        raise ValueError(f"This is not JSON: {error}.") from None
    if _deeper(value, RECORD_DEPTH):
        raise ValueError("The JSON is nested too deeply.")
    return value


def _deeper(value: Any, levels: int) -> bool:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return levels < 0 or any(_deeper(item, levels - 1) for item in inner)


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is not a JSON number")
