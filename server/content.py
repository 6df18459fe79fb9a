"""The compiled content, as the build left it for the phones; desk and commands read the same file."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, cast

from server import settings

if TYPE_CHECKING:
    from pwa.app.shapes import Content


def load(dist: Path | None = None) -> "Content":
    """What the notebook is given as `content`, out of a build, by default this installation's own.

    Raises:
        ValueError: nothing is built yet.
    """
    return cast("Content", json.loads(_built(dist, "phone/content.json")))


def network(dist: Path | None = None) -> str:
    """The whole fault model in BIF, likewise."""
    return _built(dist, "network.bif").decode()


def _built(dist: Path | None, name: str) -> bytes:
    try:
        return ((dist or settings.DIST) / name).read_bytes()
    except FileNotFoundError:
        raise ValueError("The phone's app is not built yet. Run `layby build` first.") from None
