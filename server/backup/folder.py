"""A folder of backups: the database of each day, and every photo once.

`photos/HASH` is written once and never again, so a night costs what the day brought. The shop's signing key
lies beside them. Each database is
`layby-DATE-DIGEST.db`; its name carries the first half of its SHA-256, so that a damaged one is known. One
that was damaged at its source is kept as well, as `...-damaged.db`, and then no older one is let go.
"""

import contextlib
import fcntl
import hashlib
import os
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from server import signing
from server.backup import days, files, last, snapshot
from server.store.photos import sync_folder

KEEP = 30
HASH = re.compile(r"[0-9a-f]{64}")


class Done(NamedTuple):
    """What one backup wrote. `problems` names what is damaged in the shop, and could not be saved whole."""

    database: Path
    photos: int  # in the folder now
    new: int  # photos that were copied
    bytes: int  # written, the database's included
    problems: list[str]


def backup(data: Path, folder: Path, keep: int = KEEP) -> Done:
    """Add the shop as it is now; older databases beyond `keep` go. The server may be running.

    Everything is on the disk before the database has its name: a backup that was cut short leaves photos
    that the next one needs anyway, and nothing that looks like a backup.

    Raises:
        ValueError: there is no shop, the folder lies inside it, does not take the backup, or is in use.
    """
    snapshot.insist_on_shop(data)
    if folder.resolve().is_relative_to(data.resolve()):
        raise ValueError(
            f"{folder} lies inside the shop's own folder; name another place, best another disk."
        )
    try:
        (folder / "photos").mkdir(mode=0o700, parents=True, exist_ok=True)
        with _alone(folder):
            done = _add(data, folder)
            if not done.problems:
                _let_go(folder, keep)
    except OSError as error:
        raise ValueError(
            f"{folder} does not take the backup: {error.strerror}. Nothing old was lost."
        ) from None
    last.note(data, folder, len(done.problems))
    return done


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """No second backup at the same time; and what one that was cut short left is gone."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise ValueError(f"Another backup into {folder} is under way.") from None
        except OSError:  # a network's file system without locks
            pass
        for part in (*folder.glob(files.PART + "*"), *(folder / "photos").glob(files.PART + "*")):
            part.unlink()
        yield
    finally:
        os.close(handle)


def _add(data: Path, folder: Path) -> Done:
    key = _key(data / signing.NAME, folder / signing.NAME)
    part = folder / f"{files.PART}{os.getpid()}"
    part.touch(mode=0o600)  # it holds all that the shop knows
    try:
        named, problems = snapshot.copied(data / "layby.db", part)
        new, written, damaged = _photos(data / "photos", folder / "photos", named)
        problems += damaged
        written += key
        sync_folder(folder / "photos")
        database = folder / _name(part, is_damaged=named is None)
        written += part.stat().st_size
        files.to_disk(part)
        part.rename(database)
        sync_folder(folder)
    finally:
        part.unlink(missing_ok=True)
    count = sum(1 for path in (folder / "photos").iterdir() if HASH.fullmatch(path.name))
    return Done(database, count, new, written, problems)


def _photos(source: Path, target: Path, named: list[str] | None) -> tuple[int, int, list[str]]:
    """Copy every sound photo that is not there yet: how many, how many bytes, and what is wrong.

    Both sides are read whole, so damage on either disk is found the night after.
    """
    new, written, problems = 0, 0, []
    present = sorted(path.name for path in source.iterdir() if HASH.fullmatch(path.name))
    for sha256 in present:
        try:
            content = (source / sha256).read_bytes()
        except OSError as error:
            problems.append(f"photo {sha256}: its file cannot be read ({error.strerror})")
            continue
        if hashlib.sha256(content).hexdigest() != sha256:
            problems.append(f"photo {sha256}: its file was altered" + _saved(target / sha256))
        elif not _is_there(target / sha256):
            files.write(target / sha256, content)
            new, written = new + 1, written + len(content)
    for sha256 in sorted(set(named or []) - set(present)):
        problems.append(f"photo {sha256}: its file is gone" + _saved(target / sha256))
    return new, written, problems


def _key(source: Path, target: Path) -> int:
    """Copy the shop's signing key beside the photos; the bytes written. It hardly ever changes."""
    content = source.read_bytes() if source.is_file() else b""
    if not content or (target.is_file() and target.read_bytes() == content):
        return 0
    files.write(target, content)
    return len(content)


def _is_there(copy: Path) -> bool:
    """Whether the backup's copy of a photo is there, read back and found whole."""
    try:
        with copy.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == copy.name
    except OSError:
        return False


def _saved(copy: Path) -> str:
    return "; this folder has it" if _is_there(copy) else "; this folder does not have it either"


def _name(path: Path, is_damaged: bool) -> str:
    now = time.time()
    made = time.strftime("%Y-%m-%dT%H%M%S", time.gmtime(now)) + f".{int(now % 1 * 1000):03}Z"
    return f"layby-{made}-{files.digest(path.read_bytes())}{'-damaged' if is_damaged else ''}.db"


def _let_go(folder: Path, keep: int) -> None:
    for path in days.databases(folder)[: -max(keep, 1)]:
        path.unlink()
