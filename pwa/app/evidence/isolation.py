"""What the evidence of a job says: the bridge from its findings to the engine's advice."""

from typing import TYPE_CHECKING

from pwa.app.evidence.situation import here
from pwa.app.kinds.situation import ASSEMBLED
from pwa.app.record import jobs
from pwa.engine.evidence import advice
from pwa.engine.numbers import rounding

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Content
    from pwa.app.record.jobs import Job
    from pwa.app.record.price_sheet import Sheet
    from pwa.engine.evidence.advice import Isolation, Option, Suspect
    from pwa.engine.evidence.case import Answers
    from pwa.engine.evidence.decide import Plan

AGAIN = "Offered again"  # the reason with which a skipped check comes back
WORDS = (
    ("electrical", "Electrical only"),
    ("mechanical", "Mechanical only"),
    ("both", "Both"),
    ("neither", "Neither"),
)


def isolate(job: "Job", content: "Content", shop: "Sheet") -> "Isolation":
    """The standing, suspects, next checks and reasons for a job's settled findings.

    Raises:
        ValueError: the findings cannot all be true under the model.
    """
    return advice.isolate(content["model"], answers(job, content), situation(job, shop))


def options(job: "Job", content: "Content", shop: "Sheet") -> "tuple[Plan, list[Option]]":
    """What the repairs cost in expectation; raises as `isolate`."""
    return advice.options(content["model"], answers(job, content), situation(job, shop))


def suspects(job: "Job", content: "Content") -> "list[Suspect]":
    """The suspects alone, for pages that show no more; raises as `isolate`."""
    return advice.suspects(content["model"], answers(job, content), {"drive": job["opened"]["drive"]})


def answers(job: "Job", content: "Content") -> "Answers":
    """The settled findings that this version knows, each with the state of assembly it was seen in."""
    known = {finding["key"]: finding for finding in content["findings"]}
    found: Answers = {}
    for record in jobs.of_kind(job["settled"], "finding"):
        data = record["data"]
        key, outcome = data["finding"], data["outcome"]
        if key in known and outcome in [item["key"] for item in known[key]["outcomes"]]:
            said: dict[str, Any] = {"outcome": outcome, "state": data.get("state", ASSEMBLED)}
            if data.get("weights"):
                said["weights"] = data["weights"]
            found[key] = said
    return found


def situation(job: "Job", shop: "Sheet") -> "dict[str, Any]":
    """What `case.Situation` asks for."""
    known: dict[str, Any] = {"drive": job["opened"]["drive"], "skipped": skipped(job)}
    known["prices"] = shop["prices"]
    known.update(here(job))
    return known


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


def mosaic(standing: "dict[str, float]", size: float = 200.0) -> "list[dict[str, Any]]":
    """The standing as four areas of one square, each as large as it is probable.

    The left column is "the electrical side has a fault", the right "it has none"; in each column the upper
    part is "the mechanical side has a fault as well".
    """
    left = size * (standing["electrical"] + standing["both"])
    columns = (
        (0.0, left, standing["both"], standing["electrical"], "both", "electrical"),
        (left, size - left, standing["mechanical"], standing["neither"], "mechanical", "neither"),
    )
    areas: list[dict[str, Any]] = []
    for x, width, upper, lower, above, below in columns:
        total = upper + lower
        height = size * upper / total if total > 0 else 0.0
        for key, y, tall in ((above, 0.0, height), (below, height, size - height)):
            box = {"x": x, "y": y, "width": width, "height": tall}
            area: dict[str, Any] = {name: f"{box[name]:.1f}" for name in box}
            area["key"] = key
            areas.append(area)
    return areas
