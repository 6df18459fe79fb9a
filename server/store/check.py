"""Looks at everything that is stored: every chain, hash, signature and photo. Changes nothing."""

import hashlib
import sqlite3
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from pwa.app.record.chain import link
from server.store import entries, pictures, proof
from server.store.shop import Shop


class Report(NamedTuple):
    records: int
    devices: int
    photos: int
    problems: list[str]  # something is lost or was altered
    notes: list[str]  # worth knowing, and no fault


class Seen:
    """What the walk over the records finds."""

    def __init__(self) -> None:
        self.records = 0
        self.devices: set[str] = set()
        self.photos: dict[str, str] = {}  # a photo that a record brings -> the record's id


def check(here: Shop) -> Report:
    """May run beside the server: records are only ever added."""
    seen = Seen()
    problems: list[str] = []
    parts = (
        _database(here),
        _records(here, seen),
        proof.broken(here.store),
        _photos(here),
        _wanted(here, seen),
    )
    for part in parts:
        try:
            problems += part
        except sqlite3.DatabaseError as error:  # a damaged page: what is behind it cannot be looked at
            problems.append(f"database: {error}")
    count = here.store.rows("select count(*) as n from photos")[0]["n"]
    notes = [*_loose(here), *_missing(here), *proof.unsigned(here.store)]
    return Report(seen.records, len(seen.devices), count, problems, notes)


def _database(here: Shop) -> Iterator[str]:
    for row in here.store.rows("pragma integrity_check"):
        if row["integrity_check"] != "ok":
            yield f"database: {row['integrity_check']}"


def _records(here: Shop, seen: Seen) -> Iterator[str]:
    with here.store.reading() as db:
        yield from chains(db.query(CHAINS), seen)


FIELDS = ("id", "job", "device", "seq", "kind", "clock")  # by which a record is stored, and which it says
CHAINS = "select * from records order by device, seq"


def chains(rows: Iterable[dict[str, Any]], seen: Seen) -> Iterator[str]:
    """Each device's records are numbered from 1, and each carries the hash of the one before it."""
    device, seq, head = "", 0, ""
    for row in rows:
        if row["device"] != device:
            device, seq, head = row["device"], 0, ""
        yield from _record(row, seq, head, seen)
        seq, head = row["seq"], link(row["text"])
        seen.records += 1
        seen.devices.add(device)


def _record(row: dict[str, Any], seq: int, head: str, seen: Seen) -> Iterator[str]:
    name = f"record {row['seq']} of device {row['device']}"
    if row["seq"] != seq + 1 and row["ahead"]:
        return  # it came in a file, before what its device has yet to send
    if row["seq"] != seq + 1:
        yield f"{name}: follows record {seq}; what was between them is gone"
        return
    try:
        entry = entries.read(row["text"])
    except ValueError as error:
        yield f"{name}: {error}"
        return
    if entry.prev != head:
        yield f"{name}: does not carry the hash of the record before it; one of the two was altered"
    for field in FIELDS:
        if getattr(entry, field) != row[field]:
            yield f"{name}: is stored under another {field} than it says itself"
    if entry.photo:
        seen.photos[entry.photo] = entry.id


def _photos(here: Shop) -> Iterator[str]:
    for row in here.store.rows("select * from photos order by sha256"):
        path, name = here.photos.folder / row["sha256"], f"photo {row['sha256']}"
        try:
            content = path.read_bytes()
        except OSError:
            yield f"{name}: its file is gone"
            continue
        if hashlib.sha256(content).hexdigest() != row["sha256"]:
            yield f"{name}: its file was altered"
        elif pictures.media_type(content) != row["type"]:
            yield f"{name}: is stored as {row['type'] or 'a file that cannot be shown'}, and is not"


def _wanted(here: Shop, seen: Seen) -> Iterator[str]:
    """A photo that a record brings is here, its phone is asked for it, or it was withdrawn."""
    known = {
        row["sha256"] for table in ("photos", "wanted", "gone")
        for row in here.store.rows(f"select sha256 from {table}")
    }  # fmt: skip
    for sha256, record in sorted(seen.photos.items()):
        if sha256 not in known:
            yield f"photo {sha256}: record {record} names it, but it is not here and nobody is asked for it"


def _loose(here: Shop) -> Iterator[str]:
    known = {row["sha256"] for row in here.store.rows("select sha256 from photos")}
    for path in sorted(here.photos.folder.iterdir()):
        if path.is_file() and path.name not in known:
            yield f"file {path.name} in the folder of photos belongs to nothing"


def _missing(here: Shop) -> Iterator[str]:
    for row in here.store.rows("select sha256, device from wanted order by device, sha256"):
        where = f"still on device {row['device']}" if row["device"] else "asked back from the phones"
        yield f"photo {row['sha256']} is {where}"
