"""Withdrawing: a record's content goes, its remains take its place, and a photo that nobody names goes too.

A withdrawal is a record like any other, so it reaches every copy. It is obeyed when it comes from the device
that wrote what it names, or from the desk; from anybody else it is only shown. A device may also send the
remains of a record of its own in the record's place.
"""

from sqlite_utils import Database

from pwa.app.record import remains
from server.store import entries

KIND = "withdrawal"
ORDERED = (
    "select 1 from withdrawals where target = ? and (device = ? or device in"
    " (select id from devices where token is null or token = '' or copy_of = ?))"
)
# A cursor is never used twice: who has read the record reads its remains again.
REPLACE = (
    "update records set text = ?, withdrawn = ?, cursor = (select max(cursor) + 1 from records) where id = ?"
)
KINDS = ", ".join("?" * len(remains.PICTURED))
NAMED = f"select 1 from records where kind in ({KINDS}) and withdrawn = 0 and instr(text, ?)"


def arrived(db: Database, entry: entries.Entry) -> None:
    """A record has just been stored: obey it, or what came before it and names it."""
    if entry.kind == KIND and not entry.withdrawn:
        for target in _named(entry.data.get("records")):
            order(db, target, entry.device, entry.id)
            obey(db, target)
    obey(db, entry.id)


def _named(records: object) -> list[str]:
    """Ids in what a stranger wrote; what is no id names nothing."""
    listed = records if isinstance(records, list) else []
    return [target for target in listed if isinstance(target, str)]


def order(db: Database, target: str, device: str, record: str) -> None:
    """Remember who wants the content of a record gone, and by which record."""
    db.table("withdrawals").insert({"target": target, "device": device, "record": record}, ignore=True)


def is_ordered(db: Database, target: str, writer: str) -> bool:
    """Whether somebody who may has withdrawn a record that `writer` wrote."""
    return bool(list(db.query(ORDERED, [target, writer, writer])))


def obey(db: Database, target: str) -> None:
    """Leave the remains of a record that is here, if somebody who may has withdrawn it."""
    rows = list(db.query("select device, text from records where id = ? and withdrawn = 0", [target]))
    if rows and is_ordered(db, target, rows[0]["device"]):
        _take_out(db, target, rows[0]["text"])


def put_back(db: Database, target: str, text: str) -> None:
    """The device's own text takes the place of remains that a file brought and nobody ordered."""
    db.execute(REPLACE, [text, 0, target])


def _take_out(db: Database, target: str, text: str) -> None:
    try:
        photo = entries.read(text).photo
    except ValueError:
        return  # damaged: it is set aside, and a true copy of it may come
    db.execute(REPLACE, [remains.of(text), 1, target])
    if photo and not list(db.query(NAMED, [*remains.PICTURED, photo])):
        _let_go(db, photo)


def _let_go(db: Database, sha256: str) -> None:
    db.execute("insert or ignore into gone (sha256, cursor) select ?, max(cursor) from records", [sha256])
    for table in ("photos", "wanted", "uploads"):
        db.execute(f"delete from {table} where sha256 = ?", [sha256])
