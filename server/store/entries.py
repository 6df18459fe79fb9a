"""What the server insists on in a record's text before it keeps it; everything else in it is the app's."""

import json
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator

from pwa.app.contract import RECORD_BYTES, RECORD_DEPTH
from pwa.app.record import envelope
from pwa.app.record.chain import WITHDRAWN
from pwa.app.record.envelope import SAFE_INTEGER as SAFE_INTEGER
from pwa.app.record.envelope import is_sha256 as is_sha256


def _id(text: str) -> str:
    if not envelope.is_id(text):
        raise ValueError(f"An id has up to {envelope.LONGEST_ID} letters, digits and hyphens.")
    return text


Id = Annotated[str, AfterValidator(_id)]


@dataclass(frozen=True)
class Entry:
    """The fields of a record that every version has (pwa/app/record/envelope.py)."""

    id: str
    job: str
    device: str
    author: str
    seq: int
    prev: str
    clock: str
    time: int
    kind: str
    replaces: list[str]
    data: dict[str, Any]
    withdrawn: str = ""  # the hash of what was written, in remains

    @property
    def photo(self) -> str:
        """SHA-256 of the photo that this record brings, or ""; remains bring none."""
        return "" if self.withdrawn else envelope.photo(self.kind, self.data)


def read(text: str) -> Entry:
    """The record in a text.

    Raises:
        ValueError: the text is no record; the sentence names the field.
    """
    if len(encoded(text)) > RECORD_BYTES:
        raise ValueError(f"The record is larger than {RECORD_BYTES // 1024} KB.")
    record = json_value(text)
    wrong = envelope.wrong(record)
    if wrong:
        raise ValueError(wrong)
    known = {name: record[name] for name, _ in envelope.FIELDS}
    return Entry(**known, withdrawn=record.get(WITHDRAWN, ""))


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
