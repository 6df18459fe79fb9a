"""What the person who runs the server can choose, all of it by environment variables."""

import os
from dataclasses import dataclass
from pathlib import Path

DIST = Path(__file__).parent.parent / "pwa" / "dist"


@dataclass(frozen=True)
class Settings:
    """`data` holds the database and the photos: copy that folder and nothing is lost."""

    data: Path
    host: str = "127.0.0.1"
    port: int = 8700
    dist: Path = DIST
    code_minutes: int = 60  # how long a one-time code can be used
    desk_days: int = 30  # how long a browser stays signed in at the desk


def from_environment() -> Settings:
    """`LAYBY_DATA`, `LAYBY_HOST` and `LAYBY_PORT`, where set.

    Raises:
        ValueError: the port is no port.
    """
    port = os.environ.get("LAYBY_PORT", "8700")
    if not port.isdecimal() or not 0 < int(port) < 65536:
        raise ValueError(f"LAYBY_PORT is {port!r}; give a number from 1 to 65535.")
    return Settings(
        data=Path(os.environ.get("LAYBY_DATA") or Path.home() / ".local" / "share" / "layby"),
        host=os.environ.get("LAYBY_HOST", "127.0.0.1"),
        port=int(port),
    )
