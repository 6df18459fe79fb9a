"""The data folder and what is in it: permissions, database, backup, who can come in."""

import os
import sqlite3
import time
from pathlib import Path

from server.backup import last
from server.doctor.finding import Finding
from server.doctor.reading import Reading
from server.store.check import CHAINS, Seen, chains

TOO_OLD = 36 * 3600  # seconds: a nightly backup was missed
BACKUP = "Run `layby backup --into FOLDER` every night, best to another disk."


def folder(data: Path) -> Finding:
    """Who owns it, and who else can read it."""
    if not (data / "layby.db").is_file():
        how = "Name the shop's folder in LAYBY_DATA, or run `layby serve` once to make a shop."
        return Finding("data", f"there is no shop in {data}", how)
    found, owner, me = f"the shop is in {data}", data.stat().st_uid, os.geteuid()
    if me not in (0, owner):
        return Finding("data", f"{found}; it belongs to another user", "Run Layby as the folder's owner.")
    if data.stat().st_mode & 0o007:
        return Finding("data", f"{found}; every user of this machine gets at it", f"Run `chmod o= {data}`.")
    strange = [path.name for path in sorted(data.iterdir()) if path.stat().st_uid != owner]
    if strange:
        how = f"Run `chown -R --reference={data} {data}`."
        return Finding("data", f"{found}; {strange[0]} in it belongs to another user", how)
    for place in (data, data / "layby.db", data / "photos"):
        if place.exists() and not os.access(place, os.W_OK):
            return Finding("data", f"{place} cannot be written", f"Run `chmod -R u+rwX {data}`.")
    return Finding("data", found)


def database(shop: Reading) -> Finding:
    """SQLite's quick check, and every chain of records; `layby check` looks at the photos as well."""
    how = "Run `layby check` for all of it, and keep the last backup safe."
    try:
        said = shop.one("pragma quick_check(1)")
        if said != "ok":
            return Finding("database", str(said), how)
        seen = Seen()
        problem = next(chains(shop.rows(CHAINS), seen), "")
        if problem:
            return Finding("database", problem, how)
        return Finding("database", f"{seen.records} records, all whole")
    except sqlite3.Error as error:
        return Finding("database", str(error), how)


def backup(data: Path, now: float | None = None) -> Finding:
    noted = last.read(data)
    if noted is None:
        return Finding("backup", "none was made yet", BACKUP)
    hours = ((time.time() if now is None else now) - noted.made) / 3600
    found = f"the last one is {hours:.0f} hours old, in {noted.where}"
    if noted.problems:
        return Finding(
            "backup", f"{found}; {noted.problems} things in the shop were damaged", "Run `layby check`."
        )
    if hours * 3600 > TOO_OLD:
        return Finding("backup", found, BACKUP)
    where = Path(noted.where)
    if not where.exists():
        return Finding(
            "backup", f"{found}, which is not there now", "Attach that disk, or back up elsewhere."
        )
    is_same = where.stat().st_dev == data.stat().st_dev
    return Finding(
        "backup", found + ("; on the disk that the shop is on, so it dies with it" if is_same else "")
    )


def owner(shop: Reading) -> Finding:
    count = shop.one("select count(*) from people where role = 'owner' and out = 0")
    how = "Run `layby code setup` and open the link that it prints."
    return Finding("owner", f"{count} can sign in" if count else "nobody can sign in", "" if count else how)


def phones(shop: Reading) -> Finding:
    count = shop.one("select count(*) from devices where token <> '' and revoked = 0")
    how = "Let one in at the desk, under Phones, or run `layby code phone`."
    return Finding("phones", f"{count} let in" if count else "none is let in yet", "" if count else how)
