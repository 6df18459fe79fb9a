"""Where the truck stands now, and which tools its checks ask for."""

from typing import TYPE_CHECKING

from pwa.app.kinds.situation import HOT, ROADSIDE, of
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.engine.evidence.truck import state_of

if TYPE_CHECKING:
    from pwa.app.kinds.data import Here as Said
    from pwa.app.kinds.situation import Here
    from pwa.app.protocol import Content, Draft
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
    """At the roadside and hot if either says so, without what either lacks; open where either says so, for
    what is off may forbid a start.
    """
    places, heats = (now["place"], other["place"]), (now["heat"], other["heat"])
    return {
        "place": ROADSIDE if ROADSIDE in places else now["place"],
        "heat": HOT if HOT in heats else now["heat"] if heats[0] == heats[1] else "",
        "without": now["without"] + [tool for tool in other["without"] if tool not in now["without"]],
        "opened": now["opened"] + [key for key in other["opened"] if key not in now["opened"]],
    }


def restated(job: "Job", opened: "list[str]") -> "list[Draft]":
    """The draft that says that these are open now, the rest as it stands; none if that is known."""
    now = here(job)
    if all(key in now["opened"] for key in opened):
        return []
    now["opened"] = opened
    return [drafted(job, now)]


def drafted(job: "Job", now: "Here") -> "Draft":
    """The record of a situation, in place of all that was said before. Older versions read its `state`."""
    data: Said = {
        "place": now["place"],
        "heat": now["heat"],
        "state": state_of(now["opened"]),
        "without": now["without"],
        "opened": now["opened"],
    }
    return draft(job["id"], "here", data, jobs.ids(jobs.of_kind(job["heads"], "here")))


def tools(content: "Content") -> "list[str]":
    """Every tool that a check asks for, in the order of the alphabet."""
    found: list[str] = []
    for finding in content["findings"]:
        found += [tool for tool in finding["tools"] if tool not in found]
    return sorted(found)
