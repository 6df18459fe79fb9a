"""Sets damaged records aside, so that true copies can come in their place. Nothing is destroyed."""

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from sqlite_utils import Database

from pwa.app.record.chain import link
from server.store import entries
from server.store.check import CHAINS, FIELDS
from server.store.database import Store

ASIDE = (
    "insert into damaged (id, job, device, seq, kind, text, received, aside)"
    " select id, job, device, seq, kind, text, received, ? from records where cursor = ?"
)


def set_aside(store: Store, now: int) -> list[str]:
    """Move damaged records out of the chains; a sentence for each.

    What stands behind a hole counts, as what a file brings does; the device's own word fills it.
    """
    with store.transaction() as db:
        signed = {(row["device"], row["seq"]): row["head"] for row in db.query("select * from heads")}
        rows = list(db.query(CHAINS))
        done = []
        for device, chain in groupby(rows, lambda row: str(row["device"])):
            done += _chain(db, device, list(chain), signed, now)
    return done


def _chain(
    db: Database, device: str, rows: list[dict[str, Any]], signed: dict[tuple[str, int], str], now: int
) -> list[str]:
    bad = _damaged(rows, signed)
    for row in bad:
        db.execute(ASIDE, [now, row["cursor"]])
        db.execute("delete from records where cursor = ?", [row["cursor"]])
    whole = {row["seq"] for row in rows} - {row["seq"] for row in bad}
    hole = next(seq for seq in range(1, len(rows) + 2) if seq not in whole)
    db.execute("update records set ahead = 1, carried = 1 where device = ? and seq > ?", [device, hole])
    return [f"record {row['seq']} of device {device}: it was damaged and is set aside" for row in bad]


def _damaged(rows: Iterable[dict[str, Any]], signed: dict[tuple[str, int], str]) -> list[dict[str, Any]]:
    """From the newest down, so that an altered record accuses nobody; what was signed is believed first."""
    bad: list[dict[str, Any]] = []
    above: entries.Entry | None = None
    for row in sorted(rows, key=lambda row: -int(row["seq"])):
        entry = _read(row)
        expected = signed.get((row["device"], row["seq"]), "")
        if not expected and above is not None and above.seq == row["seq"] + 1:
            expected = above.prev
        if entry is None or (expected and link(row["text"]) != expected):
            bad.append(row)
            entry = None
        above = entry
    return bad


def _read(row: dict[str, Any]) -> entries.Entry | None:
    try:
        entry = entries.read(row["text"])
    except ValueError:
        return None
    return entry if all(getattr(entry, field) == row[field] for field in FIELDS) else None
