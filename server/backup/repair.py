"""Mends a shop by hand: saves what can be read, sets aside what is damaged, and asks phones for the rest."""

import hashlib
import time
from pathlib import Path

from server.backup import last
from server.settings import Settings
from server.store import entries, lock, mend, pictures
from server.store.check import Report, check
from server.store.database import Damaged, insist_on_database
from server.store.salvage import salvage
from server.store.shop import Shop, now


def repair(settings: Settings) -> tuple[list[str], Report]:
    """What was done, a sentence each, and what a check finds after it. Nothing is deleted.

    Raises:
        ValueError: the server is running, or nothing can be read of the database.
    """
    with lock.held(settings.data):
        done = _database(settings.data)
        here = Shop(settings)
        try:
            done += mend.set_aside(here.store, now())
            if done:  # phones offer all they have again, and the desk uses none of its numbers twice
                here.store.renew_epoch()
                here.access.retire_desk()
            done += _photos(here)
            return done, check(here)
        finally:
            here.close()


def _database(data: Path) -> list[str]:
    path = data / "layby.db"
    try:
        insist_on_database(path)
        here = Shop(Settings(data=data))
        try:
            here.store.insist_on_whole()
        finally:
            here.close()
        return []
    except Damaged as error:
        return [str(error), *_saved(path)]


def _saved(path: Path) -> list[str]:
    """Put what can be read in the place of a damaged database, which is kept beside it."""
    if not path.exists() or not path.stat().st_size:
        raise ValueError(f"Nothing of {path} is left. Restore the last backup: `layby restore`.")
    new = path.with_name(f"layby.{time.time_ns() // 1_000_000}.new")
    try:
        lost = salvage(path, new)
    except Damaged:
        new.unlink(missing_ok=True)
        raise ValueError(
            f"Nothing of {path} can be read; it was not changed. Restore the last backup: `layby restore`."
        ) from None
    kept = path.with_name(f"layby.db.damaged-{time.time_ns() // 1_000_000}")
    for end in ("", "-wal"):
        part = path.with_name(path.name + end)
        if part.exists():
            part.rename(kept.with_name(kept.name + end))
    path.with_name(f"{path.name}-shm").unlink(missing_ok=True)
    new.rename(path)
    return [*lost, f"what could be read was saved; the damaged database is kept as {kept.name}"]


def _photos(here: Shop) -> list[str]:
    done = [sentence for sha256 in here.photos.names() for sentence in _photo(here, sha256)]
    known = {
        row["sha256"] for table in ("photos", "wanted", "gone")
        for row in here.store.rows(f"select sha256 from {table}")
    }  # fmt: skip
    for sha256 in sorted(_named(here) - known):
        if here.photos.was_moved(sha256, now()):
            done.append(f"photo {sha256}: its file was here, and counts again")
        else:
            here.photos.ask_back(sha256)
            done.append(f"photo {sha256}: asked back from the phones")
    return done


def _photo(here: Shop, sha256: str) -> list[str]:
    if not here.photos.is_sound(sha256, anew=True):
        here.photos.ask_back(sha256)
        if _from_backup(here, sha256):
            return [f"photo {sha256}: it was damaged; the backup's is in its place"]
        return [f"photo {sha256}: it was damaged; set aside, and asked back from the phones"]
    kind = pictures.media_type((here.photos.folder / sha256).read_bytes())
    with here.store.transaction() as db:
        sql = "update photos set type = ? where sha256 = ? and type <> ?"
        changed = db.execute(sql, [kind, sha256, kind]).rowcount
    return [f"photo {sha256}: is known by its right type again"] if changed else []


def _from_backup(here: Shop, sha256: str) -> bool:
    noted = last.read(here.settings.data)
    saved = Path(noted.where) / "photos" / sha256 if noted else Path()
    if not saved.is_file():
        return False
    content = saved.read_bytes()
    if hashlib.sha256(content).hexdigest() != sha256:
        return False
    part = here.photos.partial / f"backup.{sha256}"
    part.write_bytes(content)
    here.photos.keep(part, sha256, now())
    return True


def _named(here: Shop) -> set[str]:
    """The photos that a record brings."""
    named = set()
    for text in here.ledger.texts():
        try:
            named.add(entries.read(text).photo)
        except ValueError:
            continue
    return named - {""}
