"""What `layby new` writes: new files, and what comes next. Nothing that is there is overwritten."""

import keyword
import re
from pathlib import Path
from typing import NamedTuple

KEY = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


class Made(NamedTuple):
    """`files` and `changed` are texts by path from the checkout's root; `then` is what to do next."""

    files: dict[str, str]
    then: list[str]
    changed: dict[str, str]


def module_of(key: str) -> str:
    """ "fan-speed" is the Python module fan_speed.

    Raises:
        ValueError: the key cannot be a module's name, or is no key.
    """
    if not KEY.fullmatch(key):
        raise ValueError(f"“{key}” is no key. Write lower-case words joined by hyphens, as in fan-speed.")
    if keyword.iskeyword(key):
        raise ValueError(f"“{key}” is a word of Python's own. Choose another key.")
    return key.replace("-", "_")


def write(made: Made, root: Path) -> None:
    """Write all files, or none.

    Raises:
        ValueError: one of them is there already.
    """
    for name in made.files:
        if (root / name).exists():
            raise ValueError(f"{name} is there already. Choose another key, or change that file.")
    for name, text in made.files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        with (root / name).open("x", encoding="utf-8") as file:
            file.write(text)
    for name, text in made.changed.items():
        (root / name).write_text(text, "utf-8")
