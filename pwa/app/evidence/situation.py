"""Where the truck stands now, and which tools its checks ask for."""

from typing import TYPE_CHECKING

from pwa.app.kinds.situation import of
from pwa.app.record import jobs

if TYPE_CHECKING:
    from pwa.app.kinds.situation import Here
    from pwa.app.protocol import Content
    from pwa.app.record.jobs import Job


def here(job: "Job") -> "Here":
    """What was said last; before that, the place the job was started at and a truck in one piece."""
    record = jobs.latest(job["heads"], "here")
    return of(record["data"] if record else {"place": job["opened"]["place"]})


def tools(content: "Content") -> "list[str]":
    """Every tool that a check asks for, in the order of the alphabet."""
    found: list[str] = []
    for finding in content["findings"]:
        found += [tool for tool in finding["tools"] if tool not in found]
    return sorted(found)
