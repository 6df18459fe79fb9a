"""What both directions of a file of jobs share: where it is written, and how a record stands on a line."""

import json
import tempfile
from typing import IO

from server.store import shop

CHUNK = 256 * 1024


def scratch(here: shop.Shop) -> IO[bytes]:
    """A file without a name on the disk that photos go to: it is gone whatever happens."""
    return tempfile.TemporaryFile(dir=here.photos.partial)


def line(text: str) -> str:
    """A record's text stands as it is; one with a line break of its own is written as a JSON string."""
    return (json.dumps(text) if "\n" in text or "\r" in text else text) + "\n"


def text_on(line: bytes) -> str:
    """The record's own text on a line.

    Raises:
        ValueError: it is no text.
    """
    text = line.decode().removesuffix("\r")
    value = json.loads(text) if text.startswith('"') else text
    if not isinstance(value, str):
        raise ValueError("The line holds something else.")
    return value
