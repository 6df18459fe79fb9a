"""Where the truck stands: place, engine warm or cold, what is off or open, tools."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.kinds.job import PLACES as KEYS_OF_PLACES
from pwa.app.kinds.shape import TIMELINE, Choice, Kind, List, key, line, needed, optional
from pwa.engine.evidence.truck import APART, ASSEMBLED, HOUSING

if TYPE_CHECKING:
    from pwa.app.kinds.data import Here as Said
    from pwa.app.protocol import Content

STATES = (ASSEMBLED, APART)  # of assembly, as older notes say it
ROADSIDE, HOT = "roadside", "hot"
PLACES = [{"key": ROADSIDE, "label": "Roadside"}, {"key": "bay", "label": "In a bay or yard"}]
HEATS = [
    {"key": "", "label": "Not said"},
    {"key": "cold", "label": "Cold"},
    {"key": HOT, "label": "Warm or hot"},
]


CLOSED = "everything on and closed"


class Here(TypedDict):
    """`heat` is "" when nobody said; `without` are tools, `opened` keys of openings."""

    place: str
    heat: str
    without: "list[str]"
    opened: "list[str]"


def of(said: "Said") -> Here:
    """A record's data, with what it does not say as it mostly is."""
    opened = list(said.get("opened") or [])
    if said.get("state") == APART and HOUSING not in opened:
        opened.append(HOUSING)
    return {
        "place": said["place"],
        "heat": said.get("heat", ""),
        "without": said.get("without") or [],
        "opened": opened,
    }


def as_text(now: Here, content: "Content") -> str:
    """The situation in one line."""
    parts = [_label(PLACES, now["place"])]
    if now["heat"]:
        parts.append("engine cold" if now["heat"] == "cold" else "engine warm")
    parts += [str(item["name"]) for item in content["openings"] if item["key"] in now["opened"]] or [CLOSED]
    parts.append(f"without {', '.join(now['without'])}" if now["without"] else "all tools at hand")
    return " · ".join(parts)


def _label(options: "list[dict[str, str]]", key: str) -> str:
    for option in options:
        if option["key"] == key:
            return option["label"]
    return key


def _here(data: "Said", content: "Content") -> str:
    return as_text(of(data), content)


KINDS = [
    Kind(
        "here",
        "Where the truck stands:",
        _here,
        TIMELINE,
        [
            needed("place", Choice(KEYS_OF_PLACES)),
            optional("heat", Choice(tuple(option["key"] for option in HEATS))),
            optional("state", Choice(STATES)),
            optional("without", List(line, 0, 200)),
            optional("opened", List(key, 0, 200)),
        ],
        subject=(),
    ),
]
