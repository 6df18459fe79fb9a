"""Whether the data folder was put back to an earlier state (a copy, a snapshot, a lost journal of SQLite).

Nothing in the folder itself can tell. A phone can: it knows which of its own records were taken, and which
record stood at the cursor that it has read to. What is lacking here then comes again from the phones.

What a phone says may be untrue. Its mark is sealed with a key of the shop's, so a mark that does not stand
any more proves that the folder was put back. A claim without proof only has that phone send and read again.
"""

from enum import Enum

from server.store.shop import Shop

MOVED = (
    "select 1 from contradicted where id = ?"
    " union select 1 from records join contradicted on by = records.cursor where records.id = ?"
)


class Behind(Enum):
    NO = "no"
    CLAIMED = "claimed"
    PROVEN = "proven"


def mark(here: Shop, cursor: int) -> str:
    """The last record at or before a cursor: what a phone that has read so far remembers."""
    rows = here.store.rows(
        "select cursor, id from records where cursor <= ? order by cursor desc limit 1", [cursor]
    )
    return _sealed(here, f"{rows[0]['cursor']}.{rows[0]['id']}") if rows else ""


def _sealed(here: Shop, place: str) -> str:
    return f"{place}.{here.key.seal(f'{here.store.epoch}.{place}')}"


def judge(here: Shop, device: str, acked: int, cursor: int, known: str) -> Behind:
    """Whether this store lacks what a phone of the same epoch knows that it had.

    Args:
        acked: the highest number of the phone's own records that was taken here, 0 if it does not say.
        cursor: how far it has read; `known`: the mark that it got with it, "" if it got none.
    """
    if known and not _stands(here, known):
        return Behind.PROVEN if _sealed(here, known.rpartition(".")[0]) == known else Behind.CLAIMED
    newest = here.store.rows("select coalesce(max(cursor), 0) as cursor from records")[0]["cursor"]
    is_claimed = acked > here.ledger.head(device)[0] or cursor > newest
    return Behind.CLAIMED if is_claimed else Behind.NO


def _stands(here: Shop, known: str) -> bool:
    """Only a record that is withdrawn gets another cursor, or one that contradicts a file (brought.py)."""
    cursor, id, *_ = [*known.split("."), ""]
    if here.store.rows(MOVED, [id, id]):
        return True
    rows = here.store.rows("select cursor, withdrawn from records where id = ?", [id])
    return bool(rows) and (str(rows[0]["cursor"]) == cursor or bool(rows[0]["withdrawn"]))


def begin_anew(here: Shop, device: str, now: int) -> None:
    """Be another store from now on, so that every phone offers all it has again, and the desk a new device,
    because the phones may know more of its old chain. Which phone had the proof shows at the desk.
    """
    here.facts.note_put_back(now, device)
    here.store.renew_epoch()
    here.access.retire_desk()
