"""Files of a backup: written whole or not at all, and known by their digest."""

import hashlib
import os
from pathlib import Path

PART = ".layby-part-"  # how the name begins of one that is being written


def write(target: Path, content: bytes) -> None:
    """The whole content under this name, on the disk, or what was there before."""
    part = target.with_name(f"{PART}{os.getpid()}")
    try:
        part.touch(mode=0o600)
        part.write_bytes(content)
        to_disk(part)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def to_disk(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())


def digest(content: bytes) -> str:
    """The first half of its SHA-256: enough to know damage, and short enough for a name."""
    return hashlib.sha256(content).hexdigest()[:32]
