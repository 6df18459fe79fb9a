"""Imports every module of the phone's pack on MicroPython, which lacks much of what CPython has."""

import hashlib
import json
import re
import tempfile
from pathlib import Path

from pwa.build import node
from pwa.build.cache import NO_CACHE, Cache
from pwa.build.python_pack import PhonePythonError

FRAME = re.compile(r'File "([^"]+)", line (\d+)')


def check(pack: bytes, cache: Cache = NO_CACHE) -> None:
    """Import all that `python_pack.pack` gave; what was found good is not imported again.

    Raises:
        PhonePythonError: a module cannot be imported; one line for each cause, with file and line.
    """
    cache.kept(f"imported\n{hashlib.sha256(pack).hexdigest()}", lambda: _imported(pack))


def _imported(pack: bytes) -> bytes:
    """No bytes, once everything was imported."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "python.pack"
        file.write_bytes(pack)
        tracebacks: list[str] = json.loads(node.run(["build/checks/imports.mjs", str(file)]))
    problems = list(dict.fromkeys(map(_line, tracebacks)))  # whoever imports a broken module fails with it
    if problems:
        raise PhonePythonError("\n".join(problems))
    return b""


def _line(traceback: str) -> str:
    """The place where it was raised and the error: `pwa/engine/x.py:3: ImportError: no module named 'y'`."""
    file, line = FRAME.findall(traceback)[-1]
    said = traceback.strip().splitlines()[-1]
    return f"{file}:{line}: {said} (MicroPython runs this on the phone, and has less than CPython)"
