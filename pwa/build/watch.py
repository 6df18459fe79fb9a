"""Which files changed, by looking at their times: a few hundred files cost some milliseconds."""

import os
import time
from collections.abc import Iterator
from pathlib import Path

PAUSE = 0.2  # seconds between two looks
IGNORED = {"node_modules", "dist", "data", "__pycache__"}

Seen = dict[Path, tuple[int, int]]  # time of the last change in ns, and size


class Watch:
    """Looks at all files below some folders."""

    def __init__(self, *folders: Path) -> None:
        self._folders = folders
        self._seen = self._look()

    def changed(self) -> set[Path]:
        """What was changed, added or removed since the last look."""
        before, self._seen = self._seen, self._look()
        return {
            path for path in before.keys() | self._seen.keys() if before.get(path) != self._seen.get(path)
        }

    def wait(self) -> set[Path]:
        """Returns once something changed."""
        while not (changed := self.changed()):
            time.sleep(PAUSE)
        return changed

    def _look(self) -> Seen:
        return dict(found for folder in self._folders for found in _files(folder))


def _files(folder: Path) -> Iterator[tuple[Path, tuple[int, int]]]:
    for place, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if name not in IGNORED and name[0] != "."]
        for name in names:
            path = Path(place, name)
            try:
                status = path.stat()
            except FileNotFoundError:  # gone again, as an editor's own files are
                continue
            yield path, (status.st_mtime_ns, status.st_size)
