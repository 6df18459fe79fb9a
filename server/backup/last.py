"""When the shop was last backed up, noted in its data folder for whoever asks how old that is."""

import contextlib
import json
import os
import time
from pathlib import Path
from typing import NamedTuple

NAME = "last-backup.json"


class Last(NamedTuple):
    """`made` is in seconds since 1970; `problems` counts what was found damaged and could not be saved."""

    made: float
    where: str
    problems: int


def note(data: Path, where: Path, problems: int) -> None:
    """The backup is good even where this cannot be noted: who may only read the shop may back it up."""
    with contextlib.suppress(OSError):
        new = data / f".{NAME}.{os.getpid()}"
        new.write_text(json.dumps({"made": time.time(), "where": str(where.resolve()), "problems": problems}))
        new.replace(data / NAME)


def read(data: Path) -> Last | None:
    """None when no backup was ever made, or what stands there cannot be read."""
    try:
        noted = json.loads((data / NAME).read_text())
        return Last(float(noted["made"]), str(noted["where"]), int(noted["problems"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
