"""One program at a time changes a shop: a lock of the operating system on a file in the data folder."""

import contextlib
import fcntl
import os
from collections.abc import Iterator
from pathlib import Path

NAME = "layby.lock"


@contextlib.contextmanager
def held(data: Path) -> Iterator[None]:
    """Keep everybody else from serving or repairing this shop. It ends with the process, however that ends.

    Raises:
        ValueError: another program has it, or the folder cannot be written.
    """
    handle = _opened(data)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise ValueError(
                f"Another Layby server, restore or repair is using {data}. Stop it first, or name another"
                " folder in LAYBY_DATA."
            ) from None
        except OSError:  # a network's file system without locks
            pass
        yield
    finally:
        os.close(handle)


def _opened(data: Path) -> int:
    try:
        data.mkdir(mode=0o700, parents=True, exist_ok=True)  # no other user may read it
        return os.open(data / NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as error:
        raise cannot_use(data, error.strerror or "it cannot be written") from None


def cannot_use(data: Path, why: str) -> ValueError:
    """A sentence for a folder in which no shop can be opened."""
    return ValueError(
        f"The shop in {data} cannot be opened: {why}. Make room on that disk, make the folder writable, or"
        " name another one in LAYBY_DATA. Nothing was lost."
    )
