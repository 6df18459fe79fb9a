"""A whole shop in one file, made while the server runs.

The file is a zip: `layby.db`, `photos/HASH`, the shop's signing key, and `manifest.json` with the size and
SHA-256 of each. Sessions and one-time codes are left out: nobody should come in by an old backup.
"""

import contextlib
import hashlib
import json
import os
import re
import sqlite3
import tempfile
import time
import zipfile
from pathlib import Path
from typing import IO, Any

from server import signing
from server.backup import days, last, snapshot
from server.store.photos import sync_folder

FORMAT = 1
NAMES = re.compile(r"layby\.db|signing-key\.pem|photos/[0-9a-f]{64}")
CHUNK = 1024 * 1024


def backup(data: Path, target: Path) -> dict[str, Any]:
    """Write the shop in `data` to the file `target`; its manifest.

    Photos never change, and a photo is in its place before the database names it: so what a copy of the
    database names can be read afterwards. What is damaged stays out or goes in as it is, and is named under
    `problems`.

    Raises:
        ValueError: there is no shop, or the file exists.
    """
    snapshot.insist_on_shop(data)
    if target.exists():
        raise ValueError(f"{target} exists; give another name.")
    files: dict[str, dict[str, Any]] = {}
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".layby-") as room:
        database, made = Path(room) / "layby.db", Path(room) / "backup"
        named, problems = snapshot.copied(data / "layby.db", database)
        made.touch(mode=0o600)  # it holds all that the shop knows
        with zipfile.ZipFile(made, "w") as packed:
            _add(packed, "layby.db", database, zipfile.ZIP_DEFLATED, files)
            if (data / signing.NAME).is_file():
                _add(packed, signing.NAME, data / signing.NAME, zipfile.ZIP_DEFLATED, files)
            for sha256 in _present(data / "photos") if named is None else named:
                path = data / "photos" / sha256
                wrong = _wrong(path)
                if wrong:
                    problems.append(f"photo {sha256}: {wrong}")
                else:
                    _add(packed, f"photos/{sha256}", path, zipfile.ZIP_STORED, files)
            manifest = {
                "format": FORMAT,
                "made": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
                "files": files,
                "is_damaged": named is None,  # the database, which is in it as it was found
                "problems": problems,
            }
            packed.writestr("manifest.json", json.dumps(manifest, indent=1))
        with made.open("rb") as file:
            os.fsync(file.fileno())
        made.rename(target)
        sync_folder(target.parent)
    last.note(data, target, len(problems))
    return manifest


def _present(photos: Path) -> list[str]:
    return sorted(path.name for path in photos.iterdir() if NAMES.fullmatch(f"photos/{path.name}"))


def _wrong(photo: Path) -> str:
    """What is wrong with a photo's file, or ""."""
    try:
        with photo.open("rb") as file:
            is_right = hashlib.file_digest(file, "sha256").hexdigest() == photo.name
    except FileNotFoundError:
        return "its file is gone"
    except OSError as error:
        return f"its file cannot be read ({error.strerror})"
    return "" if is_right else "its file was altered"


def _add(packed: zipfile.ZipFile, name: str, path: Path, method: int, files: dict[str, Any]) -> None:
    entry = zipfile.ZipInfo(name, time.gmtime()[:6])
    entry.compress_type = method
    with path.open("rb") as source, packed.open(entry, "w", force_zip64=True) as target:
        files[name] = _copied(source, target)


def _copied(source: IO[bytes], target: IO[bytes]) -> dict[str, Any]:
    size, found = 0, hashlib.sha256()
    while block := source.read(CHUNK):
        target.write(block)
        found.update(block)
        size += len(block)
    return {"size": size, "sha256": found.hexdigest()}


def unpack(file: Path, room: Path) -> list[str]:
    """Put its shop into `room`; what was damaged when it was saved, and is not in it."""
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
        return _made_whole(room, manifest)
    except (OSError, zipfile.BadZipFile, KeyError, TypeError, AttributeError, json.JSONDecodeError) as error:
        raise ValueError(f"{file} cannot be read as a backup ({type(error).__name__}).") from None


def _made_whole(room: Path, manifest: dict[str, Any]) -> list[str]:
    problems = [str(problem) for problem in manifest.get("problems", [])]
    database = room / "layby.db"
    if manifest.get("is_damaged"):
        content = database.read_bytes()
        database.unlink()
        problems += days.salvaged(content, room)
    with contextlib.closing(sqlite3.connect(database)) as copy:
        for sha256 in snapshot.photos(copy):
            if not (room / "photos" / sha256).exists():
                snapshot.want(copy, sha256)
        copy.commit()
    return problems
