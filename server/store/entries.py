"""What the server insists on in a record's text before it keeps it; everything else in it is the app's."""

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator

from pwa.app.record import envelope, verbatim
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
    record, wrong = verbatim.judge(text)
    if wrong:
        raise ValueError(wrong)
    known = {name: record[name] for name, _ in envelope.FIELDS}
    return Entry(**known, withdrawn=record.get(WITHDRAWN, ""))


def json_value(text: str | bytes) -> Any:
    """As `json.loads`, without what no browser reads back and without deep nesting; raises ValueError."""
    return verbatim.value(text)
