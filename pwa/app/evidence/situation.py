"""Where the truck stands now: place, engine warm or cold, state of assembly, what is open, tools."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.record import jobs

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Content
    from pwa.app.record.jobs import Job

KIND = "here"
ASSEMBLED = "assembled"
PLACES = [{"key": "roadside", "label": "Roadside"}, {"key": "bay", "label": "In the bay"}]
HEATS = [
    {"key": "", "label": "Not said"},
    {"key": "cold", "label": "Cold: cool to the hand"},
    {"key": "hot", "label": "Warm or hot"},
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


def here(job: "Job") -> Here:
    """What was said last; before that, the place the job was started at and a truck in one piece."""
    record = jobs.latest(job["heads"], KIND)
    return of(record["data"] if record else {"place": job["opened"]["place"]})


def of(said: "dict[str, Any]") -> Here:
    """A record's data, with what it does not say as it mostly is."""
    return {
        "place": said["place"],
        "heat": said.get("heat", ""),
        "state": said.get("state") or ASSEMBLED,
        "without": said.get("without") or [],
        "opened": said.get("opened") or [],
    }


def tools(content: "Content") -> "list[str]":
    """Every tool that a check asks for, in the order of the alphabet."""
    found: list[str] = []
    for finding in content["findings"]:
        found += [tool for tool in finding["tools"] if tool not in found]
    return sorted(found)


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
