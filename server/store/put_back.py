"""Whether the data folder was put back to an earlier state (a copy, a snapshot, a lost journal of SQLite).

Nothing in the folder itself can tell. A phone can: it knows which of its own records were taken, and which
record stood at the cursor that it has read to. What is lacking here then comes again from the phones.
"""

from server.store.shop import Shop

HOUR = 3_600_000  # ms
MOVED = (
    "select 1 from contradicted where id = ?"
    " union select 1 from records join contradicted on by = records.cursor where records.id = ?"
)


def mark(here: Shop, cursor: int) -> str:
    """The last record at or before a cursor: what a phone that has read so far remembers."""
    rows = here.store.rows(
        "select cursor, id from records where cursor <= ? order by cursor desc limit 1", [cursor]
    )
    return f"{rows[0]['cursor']}.{rows[0]['id']}" if rows else ""


def is_behind(here: Shop, device: str, acked: int, cursor: int, known: str) -> bool:
    """Whether this store lacks what a phone of the same epoch knows that it had.

    Args:
        acked: the highest number of the phone's own records that was taken here, 0 if it does not say.
        cursor: how far it has read; `known`: the mark that it got with it, "" if it got none.
    """
    newest = here.store.rows("select coalesce(max(cursor), 0) as cursor from records")[0]["cursor"]
    return (
        acked > here.ledger.head(device)[0] or cursor > newest or (bool(known) and not _stands(here, known))
    )


def _stands(here: Shop, known: str) -> bool:
    """Only a record that is withdrawn gets another cursor, or one that contradicts a file (brought.py)."""
    cursor, _, id = known.partition(".")
    if here.store.rows(MOVED, [id, id]):
        return True
    rows = here.store.rows("select cursor, withdrawn from records where id = ?", [id])
    return bool(rows) and (str(rows[0]["cursor"]) == cursor or bool(rows[0]["withdrawn"]))


def begin_anew(here: Shop, device: str, now: int) -> bool:
    """Be another store from now on, so that every phone offers all it has again, and the desk a new device,
    because the phones may know more of its old chain. Whose word
    it was by shows at the desk, and it is believed at most once an hour: a phone may say what is not true.
    """
    if now - here.facts.put_back < HOUR:
        return False
    here.facts.note_put_back(now, device)
    here.store.renew_epoch()
    here.access.retire_desk()
    return True
