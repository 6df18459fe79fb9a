"""How long photos and notes of closed jobs are kept: as many months as the shop says, or for ever.

What was found, measured and tightened stays, so the record still stands up; pictures and free words go.
"""

from pwa.app.protocol import Draft
from pwa.app.record import chain, jobs
from pwa.app.record.remains import is_withdrawn
from server.store.shop import Shop

MONTHS = (6, 12, 24, 36, 60, 120)
MONTH = 30.44 * 24 * 3600 * 1000  # ms
KINDS = ("photo", "note")
IN_ONE = 500  # entries that one withdrawal names

# Nothing of the job came since; `received` is the server's own clock.
QUIET = (
    "select job from records group by job having max(received) < ?"
    " and sum(kind = 'job-closed') > 0 and sum(kind in ('photo', 'note') and withdrawn = 0) > 0"
)


def due(here: Shop, now: int) -> dict[str, list[str]]:
    """Ids of the entries whose time is over, by job."""
    months = here.facts.keep_months
    if not months:
        return {}
    rows = here.store.rows(QUIET, [int(now - months * MONTH)])
    found = {row["job"]: _pictures_and_words(here, row["job"]) for row in rows}
    return {job: ids for job, ids in found.items() if ids}


def _pictures_and_words(here: Shop, job: str) -> list[str]:
    records = chain.in_order(here.ledger.of_job(job))
    if not jobs.fold(job, records)["closed"]:
        return []  # it was opened again
    return [record["id"] for record in records if record["kind"] in KINDS and not is_withdrawn(record)]


def withdrawals(here: Shop, now: int) -> list[Draft]:
    """The records that the desk has to write for what is due."""
    reason = f"Kept for {here.facts.keep_months} months after the job was closed, as the shop has set."
    return [
        chain.draft(job, "withdrawal", {"records": ids[at : at + IN_ONE], "reason": reason})
        for job, ids in due(here, now).items()
        for at in range(0, len(ids), IN_ONE)
    ]
