"""Photos: files named by their SHA-256, shown only after Pillow has read them to the end."""

import hashlib
import io
import os
import threading
import warnings
from pathlib import Path

from PIL import Image, ImageOps

from server.database import Store
from server.errors import Refused

MAX_BYTES = 32 * 1024 * 1024
MAX_PIXELS = 64_000_000  # decoded this is 192 MB, and no phone's picture needs more
LONG_SIDE = 2000  # what a photo taken at the desk is scaled to, as on the phone
TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}


class Photos:
    """The folder of photos. `partial/` holds uploads that are still coming in."""

    def __init__(self, store: Store, folder: Path) -> None:
        self._store, self._folder, self._keeping = store, folder, threading.Lock()
        self.partial = folder / "partial"
        self.partial.mkdir(parents=True, exist_ok=True)

    def has(self, sha256: str) -> bool:
        return bool(self._store.rows("select 1 from photos where sha256 = ?", [sha256]))

    def find(self, sha256: str) -> tuple[Path, str]:
        """File and media type of a photo that can be shown.

        Raises:
            Refused: it is not here, or it is kept but no picture that can be shown.
        """
        rows = self._store.rows("select type from photos where sha256 = ?", [sha256])
        if not rows:
            raise Refused(404, "not_here", "This photo is not here yet. The phone that took it has it.")
        if not rows[0]["type"]:
            raise Refused(415, "no_picture", "This file is kept, but it is no picture that can be shown.")
        return self._folder / sha256, rows[0]["type"]

    def kept(self, sha256: str) -> tuple[Path, str] | None:
        """File and media type of anything kept under this hash; the type is "" for what is no picture."""
        rows = self._store.rows("select type from photos where sha256 = ?", [sha256])
        return (self._folder / sha256, rows[0]["type"]) if rows else None

    def keep(self, part: Path, sha256: str, now: int) -> None:
        """Move a complete file to its place; afterwards it is on the disk under its hash.

        Raises:
            Refused: the content has another hash; the file is gone then, for it is worth nothing.
        """
        with self._keeping:
            if part.exists():  # two requests may have seen the last byte
                self._keep(part, sha256, now)

    def _keep(self, part: Path, sha256: str, now: int) -> None:
        with part.open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
            os.fsync(file.fileno())
        if found != sha256:
            part.unlink()
            raise Refused(
                460, "other_photo", "What arrived is not the photo that was announced. Send it again."
            )
        size, kind = part.stat().st_size, media_type(part)
        part.replace(self._folder / sha256)
        _sync_folder(self._folder)
        with self._store.transaction() as db:
            row = {"sha256": sha256, "size": size, "type": kind, "received": now}
            db.table("photos").insert(row, replace=True)
            db.execute("delete from wanted where sha256 = ?", [sha256])
            db.execute("delete from uploads where sha256 = ?", [sha256])

    def keep_new(self, content: bytes, now: int) -> dict[str, str]:
        """Scale, strip and keep a picture handed in at the desk; the form fields that describe it.

        Raises:
            ValueError: it is no picture that can be read.
        """
        scaled, width, height = _scaled(content)
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


def media_type(path: Path) -> str:
    """The type of a picture that Pillow reads to the end, or "" for anything else."""
    try:
        with _opened(path) as image:
            image.load()
            return TYPES[image.format or ""]
    except Exception:  # however a decoder fails over hostile bytes, the file is evidence and is kept
        return ""


def _opened(source: Path | io.BytesIO) -> Image.Image:
    """A picture of a known kind and a bounded size, not decoded yet.

    Raises:
        ValueError: it is none.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(source, formats=list(TYPES))
    except (OSError, SyntaxError, Image.DecompressionBombError):
        raise ValueError("This file is not a picture that Layby can read (JPEG, PNG or WebP).") from None
    if image.width * image.height > MAX_PIXELS:
        raise ValueError("This picture is too large: more than 64 megapixels.")
    return image


def _scaled(content: bytes) -> tuple[bytes, int, int]:
    """A JPEG that is upright, no larger than needed, and without where and when it was taken."""
    try:
        with _opened(io.BytesIO(content)) as image:
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except (OSError, SyntaxError):
        raise ValueError("This picture is damaged; it ends too early.") from None
    upright.thumbnail((LONG_SIDE, LONG_SIDE))
    clean = io.BytesIO()
    Image.frombytes("RGB", upright.size, upright.tobytes()).save(clean, "JPEG", quality=88)
    return clean.getvalue(), upright.width, upright.height


def _sync_folder(folder: Path) -> None:
    """A renamed file survives a power cut only once its folder is on the disk too."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
