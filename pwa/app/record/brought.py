"""What a file brought and its device contradicts: anybody can write such a file in another's name.

The server knows of it by itself (server/store/brought.py) and tells phones. A phone that took a file in can
see it too, as soon as it has the device's own record of the same number, or of the one before it.
"""

from typing import TYPE_CHECKING

from pwa.app.record import chain, integrity

if TYPE_CHECKING:
    from pwa.app.protocol import Record, Row

    Place = tuple[str, int]  # a device and the number of one of its records


def apart(rows: "list[Row]") -> "tuple[list[Row], list[Record]]":
    """The rows that may count, and the records that their own devices contradict; both in the order given."""
    false = {row["id"] for row in rows if row.get("contradicted")}
    carried = [row for row in rows if row.get("carried") and row["id"] not in false]
    if carried:
        false.update(_contradicted(rows, carried, false))
    if not false:
        return rows, []
    read = [integrity.read(row) for row in rows if row["id"] in false]
    return [row for row in rows if row["id"] not in false], [record for record in read if record]


def _contradicted(rows: "list[Row]", carried: "list[Row]", false: "set[str]") -> "set[str]":
    """Ids of carried rows that stand where a device's own is, do not follow it, or hang on such a row."""
    own: dict[Place, str] = {}
    for row in rows:
        if not row.get("carried") and row["id"] not in false:
            own[(row["device"], row["seq"])] = row["text"]
    found: set[str] = set()
    hanging: dict[Place, str] = {}  # what was found false: the rest hangs on it
    for row in sorted(carried, key=lambda row: row["seq"]):
        record, before = integrity.read(row), (row["device"], row["seq"] - 1)
        place = (row["device"], row["seq"])
        prev = record["prev"] if record else ""
        is_taken = place in own and own[place] != row["text"]
        is_loose = before in own and _link(own[before]) != prev
        if is_taken or is_loose or (before in hanging and hanging[before] == prev):
            found.add(row["id"])
            hanging[place] = _link(row["text"])
    return found


def _link(text: str) -> str:
    try:
        return chain.link(text)
    except (ValueError, TypeError, RuntimeError):  # damaged
        return ""
