"""What to say of a name that leads nowhere."""

import difflib
from collections.abc import Iterable

SHOWN = 12


def missing(what: str, name: str, known: Iterable[str], where: str = "") -> str:
    """ "there is no tool lmap; did you mean lamp?", or what there is where nothing is near."""
    names = list(known)
    near = difflib.get_close_matches(name, names, 1)
    if near:
        return f"there is no {what} {name}{where}; did you mean {near[0]}?"
    if names and len(names) <= SHOWN:
        return f"there is no {what} {name}{where}; there is {', '.join(names)}"
    return f"there is no {what} {name}{where}"
