"""A whole shop in one file, made while the server runs, and a shop out of such a file.

The file is a zip: `layby.db`, `photos/HASH`, and `manifest.json` with the size and SHA-256 of each. Sessions
and one-time codes are left out: nobody should come in by an old backup.
"""

import hashlib
import json
import os
import re
import shutil
import sqlite3
import tempfile
import time
import zipfile
from pathlib import Path
from typing import IO, Any

from server.settings import Settings
from server.store.check import Report, check
from server.store.photos import sync_folder
from server.store.shop import Shop

FORMAT = 1
NAMES = re.compile(r"layby\.db|photos/[0-9a-f]{64}")
CHUNK = 1024 * 1024


def backup(data: Path, target: Path) -> dict[str, Any]:
    """Write the shop in `data` to the file `target`; its manifest.

    Photos never change, and a photo is in its place before the database names it: so what a copy of the
    database names can be read afterwards.

    Raises:
        ValueError: there is no shop, the file exists, or a photo that the database names is gone.
    """
    if not (data / "layby.db").is_file():
        raise ValueError(f"There is no shop in {data}; LAYBY_DATA names its folder.")
    if target.exists():
        raise ValueError(f"{target} exists; give another name.")
    files: dict[str, dict[str, Any]] = {}
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".layby-") as room:
        database, made = Path(room) / "layby.db", Path(room) / "backup"
        photos = _copy_database(data / "layby.db", database)
        made.touch(mode=0o600)  # it holds all that the shop knows
        with zipfile.ZipFile(made, "w") as packed:
            _add(packed, "layby.db", database, zipfile.ZIP_DEFLATED, files)
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
    return manifest


def _copy_database(source: Path, target: Path) -> list[str]:
    """One moment of the database, and the photos it names."""
    reading, writing = sqlite3.connect(source, timeout=30), sqlite3.connect(target)
    try:
        reading.backup(writing)
        for table in ("sessions", "codes", "uploads"):
            writing.execute(f"delete from {table}")
        writing.commit()
        writing.execute("vacuum")  # what was deleted is not in the file any more
        writing.execute("pragma journal_mode=delete")
        return [row[0] for row in writing.execute("select sha256 from photos order by sha256")]
    finally:
        reading.close()
        writing.close()


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


def restore(file: Path, settings: Settings) -> Report:
    """Make the shop of a backup in the settings' data folder; what a check of it finds.

    Phones may have sent records after the backup was made. The restored store says it is another one (its
    epoch), so every phone offers all it has again; and the desk goes on as a new device, because the phones
    may know more of its old chain than the backup does.

    Raises:
        ValueError: the folder is not empty, or the file is no backup, is damaged, or holds a damaged shop.
    """
    data = settings.data
    if data.exists() and any(data.iterdir()):
        raise ValueError(f"{data} is not empty. Move it away, or name another folder in LAYBY_DATA.")
    data.parent.mkdir(parents=True, exist_ok=True)
    room = Path(tempfile.mkdtemp(dir=data.parent, prefix=".layby-"))
    try:
        _unpack(file, room)
        here = Shop(Settings(data=room))
        here.store.renew_epoch()
        here.access.retire_desk()
        report = check(here)
        here.close()
        if report.problems:
            raise ValueError("The backup holds a damaged shop: " + "; ".join(report.problems[:5]) + ".")
        if data.exists():
            data.rmdir()
        sync_folder(room)
        room.rename(data)
        sync_folder(data.parent)
        return report
    finally:
        shutil.rmtree(room, ignore_errors=True)


def _unpack(file: Path, room: Path) -> None:
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
            sync_folder(room / "photos")
    except (OSError, zipfile.BadZipFile, KeyError, TypeError, AttributeError, json.JSONDecodeError) as error:
        raise ValueError(f"{file} cannot be read as a backup ({type(error).__name__}).") from None
