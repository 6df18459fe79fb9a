"""Whether a place that `layby new` left open is still there, in code or in a template."""

from pathlib import Path

MARK = "FILL IN"
PWA = Path(__file__).parents[2]
ROOMS = {"engine": "*.py", "app": "*.py", "templates": "*.html"}


class UnfinishedError(ValueError):
    """Every place still to be filled in, one a line: `file:line: what to write`."""


def check(pwa: Path = PWA) -> None:
    """Look for marks in everything that goes to the phone.

    Raises:
        UnfinishedError: something is still to be filled in.
    """
    found = [
        f"{path.relative_to(pwa.parent).as_posix()}:{number}: {line.strip()}"
        for room, pattern in ROOMS.items()
        for path in sorted((pwa / room).rglob(pattern))
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if MARK in line
    ]
    if found:
        raise UnfinishedError("\n".join(found))
