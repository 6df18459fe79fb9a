"""A whole shop in one file, made while the server runs.

The file is a zip: `layby.db`, `photos/HASH`, the shop's signing key, and `manifest.json` with the size and
SHA-256 of each. Sessions and one-time codes are left out: nobody should come in by an old backup.
"""

import hashlib
import json
import os
import re
import tempfile
import time
import zipfile
from pathlib import Path
from typing import IO, Any

from server import signing
from server.backup import last, snapshot
from server.store.photos import sync_folder

FORMAT = 1
NAMES = re.compile(r"layby\.db|signing-key\.pem|photos/[0-9a-f]{64}")
CHUNK = 1024 * 1024


def backup(data: Path, target: Path) -> dict[str, Any]:
    """Write the shop in `data` to the file `target`; its manifest.

    Photos never change, and a photo is in its place before the database names it: so what a copy of the
    database names can be read afterwards.

    Raises:
        ValueError: there is no shop, the file exists, or a photo that the database names is gone.
    """
    snapshot.insist_on_shop(data)
    if target.exists():
        raise ValueError(f"{target} exists; give another name.")
    files: dict[str, dict[str, Any]] = {}
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".layby-") as room:
        database, made = Path(room) / "layby.db", Path(room) / "backup"
        photos = _copy_database(data / "layby.db", database)
        made.touch(mode=0o600)  # it holds all that the shop knows
        with zipfile.ZipFile(made, "w") as packed:
            _add(packed, "layby.db", database, zipfile.ZIP_DEFLATED, files)
            if (data / signing.NAME).is_file():
                _add(packed, signing.NAME, data / signing.NAME, zipfile.ZIP_DEFLATED, files)
            for sha256 in photos:
                _add(packed, f"photos/{sha256}", data / "photos" / sha256, zipfile.ZIP_STORED, files)
            manifest = {
                "format": FORMAT,
                "made": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
                "files": files,
            }
            packed.writestr("manifest.json", json.dumps(manifest, indent=1))
        with made.open("rb") as file:
            os.fsync(file.fileno())
        made.rename(target)
        sync_folder(target.parent)
    last.note(data, target, problems=0)
    return manifest


def _copy_database(source: Path, target: Path) -> list[str]:
    """One moment of the database, and the photos it names."""
    copy = snapshot.take(source, target)
    try:
        snapshot.strip(copy)
        return snapshot.photos(copy)
    finally:
        copy.close()


def _add(packed: zipfile.ZipFile, name: str, path: Path, method: int, files: dict[str, Any]) -> None:
    entry = zipfile.ZipInfo(name, time.gmtime()[:6])
    entry.compress_type = method
    try:
        source = path.open("rb")
    except OSError:
        raise ValueError(f"{name} is gone; `layby check` says what else is wrong.") from None
    with source, packed.open(entry, "w", force_zip64=True) as target:
        files[name] = _copied(source, target)
    if name.startswith("photos/") and files[name]["sha256"] != path.name:
        raise ValueError(f"{name} was altered; `layby check` says what else is wrong.")


def _copied(source: IO[bytes], target: IO[bytes]) -> dict[str, Any]:
    size, found = 0, hashlib.sha256()
    while block := source.read(CHUNK):
        target.write(block)
        found.update(block)
        size += len(block)
    return {"size": size, "sha256": found.hexdigest()}


def unpack(file: Path, room: Path) -> None:
    try:
        with zipfile.ZipFile(file) as packed:
            manifest = json.loads(packed.read("manifest.json"))
            if manifest["format"] != FORMAT:
                raise ValueError(f"{file} was made by another version of Layby.")
            names = set(packed.namelist()) - {"manifest.json"}
            if names != set(manifest["files"]) or not all(map(NAMES.fullmatch, names)):
                raise ValueError(f"{file} does not hold what it lists.")
            (room / "photos").mkdir()
            for name, expected in manifest["files"].items():
                with packed.open(name) as source, (room / name).open("wb") as target:
                    if _copied(source, target) != expected:
                        raise ValueError(f"{name} in {file} is damaged.")
                    target.flush()
                    os.fsync(target.fileno())
            if signing.NAME in names:
                (room / signing.NAME).chmod(0o600)
            sync_folder(room / "photos")
    except (OSError, zipfile.BadZipFile, KeyError, TypeError, AttributeError, json.JSONDecodeError) as error:
        raise ValueError(f"{file} cannot be read as a backup ({type(error).__name__}).") from None
