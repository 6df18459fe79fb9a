"""Where the truck stands: place, engine warm or cold, state of assembly, what is open, tools."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.kinds.job import PLACES as KEYS_OF_PLACES
from pwa.app.kinds.shape import TIMELINE, Choice, Kind, List, key, line, needed, optional

if TYPE_CHECKING:
    from pwa.app.kinds.data import Here as Said
    from pwa.app.protocol import Content

ASSEMBLED = "assembled"
ROADSIDE, HOT = "roadside", "hot"
PLACES = [{"key": ROADSIDE, "label": "Roadside"}, {"key": "bay", "label": "In the bay"}]
HEATS = [
    {"key": "", "label": "Not said"},
    {"key": "cold", "label": "Cold: cool to the hand"},
    {"key": HOT, "label": "Warm or hot"},
]
STATES = [
    {"key": ASSEMBLED, "label": "Turbo assembled"},
    {"key": "turbine housing off", "label": "Turbine housing off"},
]


class Here(TypedDict):
    """`heat` is "" when nobody said; `without` are tools, `opened` keys of openings."""

    place: str
    heat: str
    state: str
    without: "list[str]"
    opened: "list[str]"


def of(said: "Said") -> Here:
    """A record's data, with what it does not say as it mostly is."""
    return {
        "place": said["place"],
        "heat": said.get("heat", ""),
        "state": said.get("state") or ASSEMBLED,
        "without": said.get("without") or [],
        "opened": said.get("opened") or [],
    }


def as_text(now: Here, content: "Content") -> str:
    """The situation in one line."""
    parts = [_label(PLACES, now["place"])]
    if now["heat"]:
        parts.append("engine cold" if now["heat"] == "cold" else "engine warm")
    parts.append(_label(STATES, now["state"]))
    parts += [str(item["name"]) for item in content["openings"] if item["key"] in now["opened"]]
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
            optional("state", Choice(tuple(option["key"] for option in STATES))),
            optional("without", List(line, 0, 200)),
            optional("opened", List(key, 0, 200)),
        ],
        subject=(),
    ),
]
