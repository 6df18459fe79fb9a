"""Where the truck stands now: place, engine warm or cold, state of assembly, what is open, tools."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import job as jobs

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.job import Job
    from pwa.app.protocol import Content

KIND = "here"
ASSEMBLED = "assembled"


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
    said: dict[str, Any] = record["data"] if record else {}
    return {
        "place": said.get("place") or job["opened"]["place"],
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
