"""A page survives any single record: the one that takes it down is found, left out of it, and named on it."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TypeVar

    from pwa.app.protocol import Record

    Made = TypeVar("Made")


OPENING = "job-opened"
PLAIN = {
    "unit": "?",
    "complaint": "?",
    "drive": "not known",
    "place": "bay",
    "engine": "",
    "distance": "",
    "hours": None,
}


def around(records: "list[Record]", make: "Callable[[list[Record]], Made]") -> "Made":
    """What `make` makes of the records; where that fails, of as many of them as it bears.

    Raises:
        Exception: what `make` raised, when no record of one kind alone is to blame: then the code is.
    """
    try:
        return make(records)
    except Exception:  # whatever a record brings about
        for kind in sorted({record["kind"] for record in records} - {OPENING}):
            suspects = [record for record in records if record["kind"] == kind]
            if _works(records, suspects, make):
                return make(_without(records, _blamed(records, suspects, make)))
        if _is_opening_to_blame(records, make):
            return make([record for record in records if record["kind"] != OPENING])
        raise


def _is_opening_to_blame(records: "list[Record]", make: "Callable[[list[Record]], Made]") -> bool:
    """Whether a plain opening would do in its place; without any, no screen is asked."""
    plain = []
    for record in records:
        changed = record.copy()
        if record["kind"] == OPENING:
            changed["data"] = PLAIN
        plain.append(changed)
    return any(record["kind"] == OPENING for record in records) and _works(plain, [], make)


def _blamed(
    records: "list[Record]", suspects: "list[Record]", make: "Callable[[list[Record]], Made]"
) -> "list[Record]":
    """As few of the suspects as halving finds: one, if one alone is to blame."""
    while len(suspects) > 1:
        middle = len(suspects) // 2
        for half in (suspects[:middle], suspects[middle:]):
            if _works(records, half, make):
                suspects = half
                break
        else:
            return suspects
    return suspects


def _works(records: "list[Record]", out: "list[Record]", make: "Callable[[list[Record]], Made]") -> bool:
    try:
        make(_without(records, out))
    except Exception:
        return False
    return True


def _without(records: "list[Record]", out: "list[Record]") -> "list[Record]":
    ids = {record["id"] for record in out}
    return [record for record in records if record["id"] not in ids]
