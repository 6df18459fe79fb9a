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
    url: str = ""  # the address that phones and browsers use, when a proxy stands before the server
    device_bytes: int = 8 * 1024**3  # of photos from one phone
    spare_bytes: int = 256 * 1024**2  # kept free on the disk: a photo can wait, a record should not have to

    @property
    def address(self) -> str:
        return self.url or f"http://{self.host}:{self.port}"


def from_environment() -> Settings:
    """What the variables say that `layby serve --help` lists.

    Raises:
        ValueError: one of them is not what it should be.
    """
    url = os.environ.get("LAYBY_URL", "").rstrip("/")
    if url and not url.startswith(("https://", "http://")):
        raise ValueError(f"LAYBY_URL is {url!r}; give an address such as https://layby.example.")
    return Settings(
        data=Path(os.environ.get("LAYBY_DATA") or Path.home() / ".local" / "share" / "layby"),
        host=os.environ.get("LAYBY_HOST", "127.0.0.1"),
        port=_number("LAYBY_PORT", 8700, 65535),
        url=url,
        device_bytes=_number("LAYBY_DEVICE_GB", 8, 10_000) * 1024**3,
    )


def _number(name: str, default: int, most: int) -> int:
    value = os.environ.get(name, str(default))
    if not (value.isascii() and value.isdecimal()) or not 0 < int(value) <= most:
        raise ValueError(f"{name} is {value!r}; give a number from 1 to {most}.")
    return int(value)
