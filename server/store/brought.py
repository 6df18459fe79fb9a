"""What files brought of devices that have not sent it themselves (`carried`): anybody can write such a file.

It is kept, shown and given to phones, and counts until the device itself says something else under that
number, or under the one before it: then it is set aside with its text, and what hangs on it too. So a forged
entry neither holds a phone up nor outlives its word.
"""

from typing import Any

from sqlite_utils import Database

from pwa.app.protocol import Row
from pwa.app.record import remains
from pwa.app.record.chain import link
from server.store import entries
from server.store.database import one

BEYOND_ALL = 2**53
OWN = (
    "select seq, text from records where device = ? and seq <"
    f" coalesce((select min(seq) from records where device = ? and carried = 1), {BEYOND_ALL})"
    " order by seq desc limit 1"
)
SAME_ID = "select * from records where id = ? and carried = 1"
AT = "select * from records where device = ? and seq = ? and carried = 1"
COLUMNS = "cursor, id, job, device, seq, kind, received, text"


def own_head(db: Database, device: str) -> tuple[int, str]:
    """Number and digest of the last record that the device itself sent."""
    row = one(db, OWN, [device, device])
    return (row["seq"], link(row["text"])) if row else (0, "")


def contradicted_by(db: Database, entry: entries.Entry, text: str) -> list[dict[str, Any]]:
    """The carried rows that cannot stand beside what the device itself says now."""
    beside = (one(db, AT, [entry.device, entry.seq]), one(db, SAME_ID, [entry.id]))
    found = [row for row in beside if row and not _is_same(text, row["text"])]
    before, row = text, one(db, AT, [entry.device, entry.seq + 1])
    is_first = True
    while row and (_prev(row) == link(before)) != is_first:  # it does not follow, and the rest hangs on it
        found.append(row)
        before, is_first = row["text"], False
        row = one(db, AT, [entry.device, row["seq"] + 1])
    return list({row["cursor"]: row for row in found}.values())


def _is_same(text: str, other: str) -> bool:
    try:
        return remains.is_of(text, other)
    except (ValueError, KeyError, TypeError):  # damaged: the device's own takes its place
        return False


def _prev(row: dict[str, Any]) -> str:
    try:
        return entries.read(row["text"]).prev
    except ValueError:
        return ""


def set_aside(db: Database, row: dict[str, Any], by: int, now: int) -> None:
    """`by`: the cursor of the record that contradicts it, so that every phone hears of it with that one."""
    sql = f"insert into contradicted ({COLUMNS}, by, at) select {COLUMNS}, ?, ? from records where cursor = ?"
    db.execute(sql, [by, now, row["cursor"]])
    db.execute("delete from records where cursor = ?", [row["cursor"]])
    photo = _photo(row)
    if photo and not one(db, NAMED, [row["device"], photo]):
        db.execute("delete from wanted where device = ? and sha256 = ?", [row["device"], photo])


def _photo(row: dict[str, Any]) -> str:
    try:
        return entries.read(row["text"]).photo
    except ValueError:
        return ""


NAMED = "select 1 from records where device = ? and withdrawn = 0 and instr(text, ?)"


def ids_between(db: Database, after: int, reached: int) -> list[str]:
    """What was contradicted by the records after one cursor and up to another."""
    sql = "select id from contradicted where by > ? and by <= ? order by by"
    return [row["id"] for row in db.query(sql, [after, reached])]


def contradicted(db: Database, job: str) -> list[Row]:
    """As rows that decide nothing and are shown."""
    sql = (
        "select id, job, kind, device, seq, text, received, 1 as contradicted from contradicted"
        " where job = ? order by cursor"
    )
    rows: list[Any] = list(db.query(sql, [job]))
    return rows
