"""The machine and the program: Python, version, build, disk, clock."""

import datetime
import shutil
import subprocess
import sys
import time
from importlib import metadata

from server.doctor.finding import Finding
from server.settings import Settings

OLDEST = (3, 11)
ROOM = 5 * 1024**3  # bytes: below it there is still time to make room
SANE = (2026, 2100)  # years; the first is that of this code


def python(version: tuple[int, ...] = sys.version_info[:3]) -> Finding:
    found = ".".join(map(str, version))
    old = f"Layby needs Python {OLDEST[0]}.{OLDEST[1]} or newer; install it and make the environment anew."
    return Finding("Python", found, "" if version >= OLDEST else old)


def version() -> Finding:
    return Finding("Layby", metadata.version("layby"))


def build(settings: Settings) -> Finding:
    if (settings.dist / "phone" / "content.json").is_file():
        return Finding("build", f"the phone's app is in {settings.dist}")
    how = "Install the wheel, or run `layby build` in a checkout."
    return Finding("build", "the phone's app is not there", how)


def disk(settings: Settings) -> Finding:
    place = settings.data if settings.data.exists() else settings.data.parent
    try:
        free = shutil.disk_usage(place).free
    except OSError as error:
        return Finding("disk", f"{place} cannot be looked at: {error.strerror}", "Set LAYBY_DATA.")
    found = f"{free / 1e9:.1f} GB free where the data is"
    if free < settings.spare_bytes:
        return Finding("disk", found, "Make room now: no photo is taken from phones any more.")
    return Finding("disk", found, "" if free >= ROOM else "Make room, or move the data to a larger disk.")


def clock(newest: str | None, now: float | None = None) -> Finding:
    """`newest` is the hybrid logical clock of the newest record: "milliseconds.counter", or None."""
    now = time.time() if now is None else now
    at = datetime.datetime.fromtimestamp(now, datetime.UTC)
    found = f"{at:%Y-%m-%d %H:%M} UTC"
    if not SANE[0] <= at.year < SANE[1]:
        return Finding("clock", found, "Set this machine's date and time.")
    ahead = int(newest.split(".")[0]) / 1000 - now if newest else 0
    if ahead > 300:
        how = "Set the clock that is wrong: this machine's, or that of the phone that wrote it."
        return Finding("clock", f"{found}; the newest record is {_long(ahead)} ahead of that", how)
    return Finding("clock", found)


def _long(seconds: float) -> str:
    for unit, size in (("days", 86400), ("hours", 3600)):
        if seconds >= 2 * size:
            return f"{seconds / size:.0f} {unit}"
    return f"{seconds / 60:.0f} minutes"


def kept_right() -> Finding:
    """Whether the machine's clock is set over the network; only systemd's tool is asked."""
    try:
        asked = ["timedatectl", "show", "--property=NTPSynchronized", "--value"]
        said = subprocess.run(asked, capture_output=True, text=True, timeout=5).stdout.strip()
    except (OSError, subprocess.TimeoutExpired):
        said = ""
    if said == "no":
        how = "Run `timedatectl set-ntp true`, unless the machine has no network."
        return Finding("time service", "the clock is not set over the network", how)
    return Finding("time service", "the clock is set over the network" if said == "yes" else "not known here")
