"""Where the truck stands now, and which tools its checks ask for."""

from typing import TYPE_CHECKING

from pwa.app.kinds.situation import HOT, ROADSIDE, of
from pwa.app.record import jobs

if TYPE_CHECKING:
    from pwa.app.kinds.situation import Here
    from pwa.app.protocol import Content
    from pwa.app.record.jobs import Job


def here(job: "Job") -> "Here":
    """What was said last; before that, the place the job was started at and a truck in one piece.

    While two people say different things, the careful reading of both.
    """
    said = [of(record["data"]) for record in jobs.of_kind(job["heads"], "here")]
    if not said:
        return of({"place": job["opened"]["place"]})
    now = said[-1]
    for other in said[:-1]:
        now = _careful(now, other)
    return now


def _careful(now: "Here", other: "Here") -> "Here":
    """At the roadside and hot if either says so, without what either lacks, open only where both say so.

    The turbo itself is in the state that was said later: no state of it is the careful one.
    """
    places, heats = (now["place"], other["place"]), (now["heat"], other["heat"])
    return {
        "place": ROADSIDE if ROADSIDE in places else now["place"],
        "heat": HOT if HOT in heats else now["heat"] if heats[0] == heats[1] else "",
        "state": now["state"],
        "without": now["without"] + [tool for tool in other["without"] if tool not in now["without"]],
        "opened": [key for key in now["opened"] if key in other["opened"]],
    }


def tools(content: "Content") -> "list[str]":
    """Every tool that a check asks for, in the order of the alphabet."""
    found: list[str] = []
    for finding in content["findings"]:
        found += [tool for tool in finding["tools"] if tool not in found]
    return sorted(found)
