"""What the evidence of a job says: the bridge from its findings to the engine's advice."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find
from pwa.app.evidence import complaints, stops
from pwa.app.evidence.situation import here
from pwa.app.record import jobs
from pwa.engine.evidence import advice
from pwa.engine.evidence.truck import ASSEMBLED
from pwa.engine.numbers import rounding

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Content
    from pwa.app.record.jobs import Job
    from pwa.app.record.price_sheet import Sheet
    from pwa.engine.evidence.advice import Isolation, Option, Suspect
    from pwa.engine.evidence.case import Answers, Situation
    from pwa.engine.evidence.decide import Plan

AGAIN = "Offered again"  # the reason with which a skipped check comes back


class Area(TypedDict):
    """A rectangle of the square that shows the standing."""

    key: str
    x: str
    y: str
    width: str
    height: str


def isolate(job: "Job", content: "Content", shop: "Sheet") -> "Isolation":
    """The standing, suspects, next checks and reasons for a job's settled findings.

    Raises:
        ValueError: the findings cannot all be true under the model.
    """
    return advice.isolate(content["model"], answers(job, content), situation(job, content, shop))


def options(job: "Job", content: "Content", shop: "Sheet") -> "tuple[Plan, list[Option]]":
    """What the repairs cost in expectation; raises as `isolate`."""
    return advice.options(content["model"], answers(job, content), situation(job, content, shop))


def suspects(job: "Job", content: "Content") -> "list[Suspect]":
    """The suspects alone, for pages that show no more; raises as `isolate`."""
    known = {"drive": job["opened"]["drive"], "complaints": complaints.of(job["opened"], content)}
    return advice.suspects(content["model"], answers(job, content), known)


def answers(job: "Job", content: "Content") -> "Answers":
    """The settled findings that this version knows, each with the state of the truck it was seen in."""
    found: Answers = {}
    for record in jobs.of_kind(job["settled"], "finding"):
        data = record["data"]
        known = find(content["findings"], data["finding"])
        if known and find(known["outcomes"], data["outcome"]):
            said: dict[str, Any] = {"outcome": data["outcome"], "weights": data.get("weights") or {}}
            if data.get("opened") is not None:
                said["opened"] = data["opened"]
            else:
                said["state"] = data.get("state", ASSEMBLED)
            found[known["key"]] = said
    return found


def situation(job: "Job", content: "Content", shop: "Sheet") -> "Situation":
    now = here(job)
    return {
        "drive": job["opened"]["drive"],
        "complaints": complaints.of(job["opened"], content),
        "place": now["place"],
        "heat": now["heat"],
        "without": now["without"],
        "opened": now["opened"],
        "skipped": skipped(job),
        "lifted": [],
        "stops": stops.standing(job, content),
        "prices": shop["prices"],
    }


def skipped(job: "Job") -> "list[str]":
    """Findings whose check was put off, in order; "cannot do here" ends where another place begins."""
    last = {}
    for record in jobs.of_kind(job["settled"], "skipped"):
        last[record["data"]["finding"]] = record["data"]
    place = here(job)["place"]
    return sorted(
        [
            finding
            for finding, data in last.items()
            if data.get("reason") != AGAIN and data.get("place", place) == place
        ]
    )


def percent(probability: float) -> str:
    """A probability for people: never 0 or 100 %, which no evidence reaches."""
    if probability < 0.01:
        return "under 1 %"
    if probability > 0.99:
        return "over 99 %"
    return f"{rounding.percent(probability)} %"


def mosaic(standing: "dict[str, float]", size: float = 200.0) -> "list[Area]":
    """The standing as four areas of one square, each as large as it is probable.

    The left column is "the control side has a fault", the right "it has none"; in each column the upper part
    is "the mechanism has a fault as well".
    """
    left = size * (standing["control"] + standing["both"])
    columns = (
        (0.0, left, standing["both"], standing["control"], "both", "control"),
        (left, size - left, standing["mechanism"], standing["not-vgt"], "mechanism", "not-vgt"),
    )
    areas: list[Area] = []
    for x, width, upper, lower, above, below in columns:
        total = upper + lower
        height = size * upper / total if total > 0 else 0.0
        for key, y, tall in ((above, 0.0, height), (below, height, size - height)):
            areas.append(
                {
                    "key": key,
                    "x": f"{x:.1f}",
                    "y": f"{y:.1f}",
                    "width": f"{width:.1f}",
                    "height": f"{tall:.1f}",
                }
            )
    return areas
