"""Which stored rows can be believed: a damaged one is set aside, decides nothing, and stays where it is.

A row is damaged when its text is no record, says other things than the row it is stored in, or has another
hash than the record after it in its device's chain carries. A true copy of the record can take its place.
"""

from typing import TYPE_CHECKING

from pwa.app.record import chain, verbatim

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Device, Record, Row

# A row's own columns must be what its text says.
COLUMNS = (("id", str), ("job", str), ("kind", str), ("device", str), ("seq", int))
TYPES = COLUMNS + (
    ("author", str),
    ("prev", str),
    ("clock", str),
    ("time", int),
    ("replaces", list),
    ("data", dict),
)


def sort_out(rows: "list[Row]", device: "Device") -> "tuple[list[Record], list[Row]]":
    """The records that can be believed, and the damaged rows, each once and in the order given."""
    whole: list[Record] = []
    damaged: list[Row] = []
    altered = _altered(rows, device)
    seen: set[str] = set()
    for row in rows:
        if row["id"] in seen:
            continue
        seen.add(row["id"])
        record = read(row)
        if record is None or row["id"] in altered:
            damaged.append(row)
        else:
            whole.append(record)
    return whole, damaged


def mended(rows: "list[Row]", texts: "list[str]", device: "Device") -> "list[str]":
    """Those of the texts that may take a damaged row's place: with them there the row is whole."""
    damaged = [row["id"] for row in sort_out(rows, device)[1]]
    offered = {}
    for given in texts:
        offered[verbatim.read(given)["id"]] = given
    tried = [_with_text(row, offered.get(row["id"], "")) if row["id"] in damaged else row for row in rows]
    still = [row["id"] for row in sort_out(tried, device)[1]]
    return [offered[id] for id in damaged if id in offered and id not in still]


def _with_text(row: "Row", text: str) -> "Row":
    return {
        "id": row["id"],
        "job": row["job"],
        "kind": row["kind"],
        "device": row["device"],
        "seq": row["seq"],
        "text": text,
    }


def _altered(rows: "list[Row]", device: "Device") -> "set[str]":
    """Ids of readable rows whose hash is another than the record after them carries.

    From each device's newest record down, so that an altered record accuses nobody.
    """
    expected = {(device["id"], device["seq"]): device["head"]}
    altered = set()
    pairs = [(row, read(row)) for row in rows]
    known = [(row, record) for row, record in pairs if record is not None]
    for row, record in sorted(known, key=lambda pair: -pair[1]["seq"]):
        place = (record["device"], record["seq"])
        if place in expected and expected[place] != chain.link(row["text"]):
            altered.add(row["id"])
        else:
            expected[(record["device"], record["seq"] - 1)] = record["prev"]
    return altered


def read(row: "Row") -> "Record | None":
    """The record of a row by itself, None when it is damaged."""
    try:
        record: Any = verbatim.read(row["text"])
    except (ValueError, TypeError, RuntimeError):  # no JSON, no text, nested too deeply
        return None
    if not isinstance(record, dict):
        return None
    for name, kind in TYPES:
        value = record.get(name)
        if not isinstance(value, kind) or isinstance(value, bool):
            return None
    known: Record = record  # type: ignore[assignment]
    known.pop("received", None)  # the host's to say
    if "received" in row:
        known["received"] = row["received"]
    known.pop("long", None)
    if verbatim.is_long(row["text"]):
        known["long"] = True
    return known if _fits(known, row) else None


def _fits(record: "Record", row: "Row") -> bool:
    is_there = all(record[name] == row[name] for name, _ in COLUMNS)  # type: ignore[literal-required]
    return is_there and all(isinstance(id, str) for id in record["replaces"]) and _has_clock(record)


def _has_clock(record: "Record") -> bool:
    try:
        chain.read_clock(record["clock"])
    except ValueError:
        return False
    return True
