"""Records that a device has written and nobody has sent yet, told so that somebody can fetch them."""

import json
from collections.abc import Callable
from typing import TypedDict

from sqlite_utils import Database

from pwa.app.record.authors import Authors
from pwa.app.record.chain import link
from server.store.database import one

INCOMPLETE = (
    "select distinct device from records where ahead = 1"
    " union select distinct device from refused where error = 'gap' order by device"
)
BEYOND = (
    "select seq from records where device = ? and ahead = 1"
    " union select min(seq) from refused where device = ? and error = 'gap' order by 1"
)

# The numbers of records that a device has written and nobody has sent yet ("from" is a keyword).
Gap = TypedDict("Gap", {"device": str, "name": str, "from": int, "to": int})


def every(db: Database, authors: Callable[[], Authors]) -> list[Gap]:
    """Of all devices; `authors` is only asked where there is one."""
    devices = [row["device"] for row in db.query(INCOMPLETE)]
    names = authors() if devices else Authors([])
    return [gap for device in devices for gap in _of(db, device, _name(db, device, names))]


def reach(db: Database, device: str) -> tuple[int, str]:
    """Number and digest of a device's last record in an unbroken chain, whoever brought it."""
    sql = "select seq, text from records where device = ? and ahead = 0 order by seq desc limit 1"
    row = one(db, sql, [device])
    return (row["seq"], link(row["text"])) if row else (0, "")


def _of(db: Database, device: str, name: str) -> list[Gap]:
    seq, _ = reach(db, device)
    beyond = [row["seq"] for row in db.query(BEYOND, [device, device]) if row["seq"] and row["seq"] > seq]
    known = [seq, *beyond]
    pairs = [(before + 1, after - 1) for before, after in zip(known, beyond, strict=False)]
    return [
        {"device": device, "name": name, "from": first, "to": last} for first, last in pairs if first <= last
    ]


def _name(db: Database, device: str, authors: Authors) -> str:
    """As a device calls itself, or as it did when it was let in, or as what it wrote tells of it."""
    known = None if authors.is_named(device) else one(db, "select name from devices where id = ?", [device])
    if known is not None and known["name"]:
        return str(known["name"])
    wrote = one(db, "select text from records where device = ? order by seq desc limit 1", [device])
    return authors.author(json.loads(wrote["text"])) if wrote else authors.name(device)
