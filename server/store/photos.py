"""Photos: files named by their SHA-256, and what each of them is."""

import errno
import hashlib
import os
import threading
import time
from pathlib import Path
from typing import NamedTuple

from server.errors import Refused
from server.store import pictures
from server.store.database import Store

WITHDRAWN = "This photo was withdrawn: its picture is not kept any more, here or on any phone."
STALE = 60 * 24 * 3600  # seconds after which a photo that came in by half is given up


# Whoever has it may send it, so the device is nobody's.
ASK_BACK = (
    "insert or ignore into wanted (sha256, device) select ?, ''"
    " where not exists (select 1 from gone where sha256 = ?)"
)
ASKED_BACK = "select 1 from wanted where sha256 = ? and device = ''"


class Kept(NamedTuple):
    path: Path
    type: str  # "" when it is no picture that may be shown


class Photos:
    """The folder of photos. `partial/` holds uploads that are still coming in."""

    def __init__(self, store: Store, folder: Path) -> None:
        self._store, self.folder, self._keeping = store, folder, threading.Lock()
        self.partial, self.aside = folder / "partial", folder / "damaged"
        self.partial.mkdir(parents=True, exist_ok=True)
        self._verified: dict[str, tuple[int, int]] = {}  # size and time of the file whose hash was right
        # A folder that is new is on the disk only once the one that holds it is.
        for holder in (folder, folder.parent, folder.parent.parent):
            sync_folder(holder)

    def has(self, sha256: str) -> bool:
        return self.kept(sha256) is not None

    def kept(self, sha256: str) -> Kept | None:
        """Anything that is here under this hash, and is what the hash says: else it is asked back."""
        rows = self._store.rows("select type from photos where sha256 = ?", [sha256])
        if not rows:
            return None
        if not self.is_sound(sha256):
            self.ask_back(sha256)
            return None
        return Kept(self.folder / sha256, rows[0]["type"])

    def find(self, sha256: str) -> Kept:
        """A photo that can be shown.

        Raises:
            Refused: it is not here, or it is kept but no picture that can be shown.
        """
        kept = self.kept(sha256)
        if kept is None and self._store.rows(ASKED_BACK, [sha256]):
            raise Refused(
                404, "damaged", "This photo was damaged at the shop. It is asked back from the phones."
            )
        if kept is None:
            raise Refused(404, "not_here", "This photo is not here yet. The phone that took it has it.")
        if not kept.type:
            raise Refused(415, "no_picture", "This file is kept, but it is no picture that can be shown.")
        return kept

    def is_sound(self, sha256: str, anew: bool = False) -> bool:
        """Whether the file of a photo is there and has its hash.

        A file that was read once and was not changed since is not read again, unless it is looked at `anew`.
        """
        path = self.folder / sha256
        try:
            status = path.stat()
            seen = (status.st_size, status.st_mtime_ns)
            if not anew and self._verified.get(sha256) == seen:
                return True
            with path.open("rb") as file:
                is_right = hashlib.file_digest(file, "sha256").hexdigest() == sha256
        except FileNotFoundError:
            return False
        except OSError as error:
            if error.errno != errno.EIO:  # another is not the file's fault
                raise
            return False
        if is_right:
            self._verified[sha256] = seen
        return is_right

    def ask_back(self, sha256: str) -> None:
        """Put a damaged photo aside, where nobody is shown it, and ask every phone for it."""
        with self._keeping:
            path = self.folder / sha256
            if path.exists() and not self.is_sound(sha256, anew=True):
                self.aside.mkdir(mode=0o700, exist_ok=True)
                path.rename(self.aside / f"{sha256}.{time.time_ns() // 1_000_000}")
                sync_folder(self.aside)
                sync_folder(self.folder)
            if path.exists():  # a sound one has come meanwhile
                return
            self._verified.pop(sha256, None)
            with self._store.transaction() as db:
                db.execute("delete from photos where sha256 = ?", [sha256])
                db.execute(ASK_BACK, [sha256, sha256])

    def names(self) -> list[str]:
        """The hashes of all that should be here."""
        return [row["sha256"] for row in self._store.rows("select sha256 from photos order by sha256")]

    def sent_by(self, device: str) -> tuple[int, int]:
        """Bytes of a device's photos, here and announced, and how many are still coming in."""
        here = self._store.rows("select coalesce(sum(size), 0) as n from photos where device = ?", [device])
        coming = self._store.rows(
            "select count(*) as n, coalesce(sum(length), 0) as size from uploads where device = ?", [device]
        )
        return here[0]["n"] + coming[0]["size"], coming[0]["n"]

    def keep(self, part: Path, sha256: str, now: int, device: str = "") -> None:
        """Move a complete file to its place; afterwards it is on the disk under its hash.

        Raises:
            Refused: the content has another hash; the file is gone then, for it is worth nothing.
        """
        with self._keeping:
            if part.exists():  # two requests may have seen the last byte
                self._keep(part, sha256, now, device)

    def was_moved(self, sha256: str, now: int, device: str = "") -> bool:
        """Whether a photo lies in its place. One that the server was stopped before listing is listed."""
        with self._keeping:
            if self.is_gone(sha256) or not self.is_sound(sha256):
                return False
            self._list(sha256, now, device)
            return True

    def _keep(self, part: Path, sha256: str, now: int, device: str) -> None:
        with part.open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
            os.fsync(file.fileno())
        if found != sha256:
            part.unlink()
            raise Refused(
                460, "other_photo", "What arrived is not the photo that was announced. Send it again."
            )
        if self.is_gone(sha256):
            part.unlink()
            raise Refused(410, "withdrawn", WITHDRAWN)
        part.replace(self.folder / sha256)
        sync_folder(self.folder)
        self._list(sha256, now, device)

    def _list(self, sha256: str, now: int, device: str) -> None:
        content = (self.folder / sha256).read_bytes()
        size, kind = len(content), pictures.media_type(content)
        with self._store.transaction() as db:
            row = {"sha256": sha256, "size": size, "type": kind, "received": now, "device": device}
            db.table("photos").insert(row, replace=True)
            db.execute("delete from wanted where sha256 = ?", [sha256])
            db.execute("delete from uploads where sha256 = ?", [sha256])

    def keep_new(self, content: bytes, now: int) -> dict[str, str]:
        """Scale, strip and keep a picture handed in at the desk; the form fields that describe it.

        Raises:
            ValueError: it is no picture that can be read.
        """
        scaled, width, height = pictures.clean(content)
        sha256 = hashlib.sha256(scaled).hexdigest()
        part = self.partial / f"desk.{sha256}"
        part.write_bytes(scaled)
        self.keep(part, sha256, now)
        return {
            "photo_sha256": sha256,
            "photo_size": str(len(scaled)),
            "photo_type": "image/jpeg",
            "photo_width": str(width),
            "photo_height": str(height),
        }

    def is_gone(self, sha256: str) -> bool:
        """Whether this photo was withdrawn: its bytes are not taken again."""
        return bool(self._store.rows("select 1 from gone where sha256 = ?", [sha256]))

    def erase_gone(self) -> None:
        """Erase the files of photos that were withdrawn."""
        for row in self._store.rows("select sha256 from gone where erased = 0"):
            left = [*self.partial.glob(f"*.{row['sha256']}"), *self.aside.glob(f"{row['sha256']}.*")]
            for path in [self.folder / row["sha256"], *left]:
                path.unlink(missing_ok=True)
            sync_folder(self.folder)
            with self._store.transaction() as db:
                db.execute("update gone set erased = 1 where sha256 = ?", [row["sha256"]])

    def tidy(self) -> None:
        """Give up uploads that nobody went on with for two months; who comes back begins again."""
        for part in self.partial.iterdir():
            if part.stat().st_mtime < time.time() - STALE:
                device, _, sha256 = part.name.partition(".")
                part.unlink()
                with self._store.transaction() as db:
                    db.execute("delete from uploads where device = ? and sha256 = ?", [device, sha256])


def sync_folder(folder: Path) -> None:
    """A renamed file survives a power cut only once its folder is on the disk too."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
