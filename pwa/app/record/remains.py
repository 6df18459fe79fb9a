"""What remains of a record whose content was withdrawn: its envelope and its hash, so that the chain holds.

A photo's hash stays as well, so that its bytes are refused wherever they turn up again. The next record of
the chain carries the hash of the text that was written; `chain.link` reads it from the remains.
"""

import json
from typing import TYPE_CHECKING

from pwa.app.kinds.table import KINDS
from pwa.app.record import chain

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record, Row

PICTURED = [kind.name for kind in KINDS.values() if kind.photo]
ENVELOPE = ("v", "id", "job", "device", "seq", "prev", "clock", "time", "kind", "replaces")


def of(text: str) -> str:
    """The remains of a record's text; those of remains are the same."""
    record: dict[str, Any] = json.loads(text)
    if chain.WITHDRAWN in record:
        return text
    left = {name: record[name] for name in ENVELOPE if name in record}
    left["author"] = ""
    left["data"] = _hash_of_photo(record)
    left[chain.WITHDRAWN] = chain.digest(text)
    return json.dumps(left)


def is_of(text: str, other: str) -> bool:
    """Whether one text is what remains of a record, and the other is that record or remains of it too."""
    if text == other:
        return True
    # As values, for the two interpreters write the same fields in other orders.
    return chain.link(text) == chain.link(other) and json.loads(of(text)) == json.loads(of(other))


def left_of(rows: "list[Row]", ids: "list[str]") -> "tuple[list[str], list[str]]":
    """The remains of the rows of these ids, and the hashes of photos that no other row names."""
    left = [of(row["text"]) for row in rows if row["id"] in ids]
    others = [row["text"] for row in rows if row["id"] not in ids and row["kind"] in PICTURED]
    photos = [photo for text in left for photo in json.loads(text)["data"].values()]
    return left, [photo for photo in photos if not any(photo in text for text in others)]


def is_withdrawn(record: "Record") -> bool:
    return chain.WITHDRAWN in record


def _hash_of_photo(record: "dict[str, Any]") -> "dict[str, Any]":
    kind, data = KINDS.get(record["kind"]), record["data"]
    return {kind.photo: data[kind.photo]} if kind and kind.photo and kind.photo in data else {}
