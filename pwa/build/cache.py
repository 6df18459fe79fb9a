"""What a build made before, found by the hash of what it was made from. Only `layby dev` keeps one."""

import hashlib
from collections.abc import Callable
from pathlib import Path


class Cache:
    """Results in a folder; without one, everything is made anew."""

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder
        if folder:
            folder.mkdir(parents=True, exist_ok=True)

    def kept(self, made_from: str, make: Callable[[], bytes]) -> bytes:
        """`make()`, or what it gave before; `made_from` is everything that the result depends on."""
        if self._folder is None:
            return make()
        file = self._folder / hashlib.sha256(made_from.encode()).hexdigest()
        if file.exists():
            return file.read_bytes()
        made = make()
        part = file.with_suffix(".part")  # so that a build that is cut leaves nothing by half
        part.write_bytes(made)
        part.replace(file)
        return made


NO_CACHE = Cache()
