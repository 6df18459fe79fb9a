"""A job as a case code, and what a case code adds to a job."""

from typing import TYPE_CHECKING

from pwa.app.carry import complaint
from pwa.app.content import find, name_of
from pwa.app.evidence import complaints, isolation
from pwa.app.evidence.situation import here
from pwa.app.kinds.names import NOT_CHECKED, outcome_label
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.engine.case_code import checked_text, codec
from pwa.engine.evidence import truck
from pwa.engine.evidence.truck import APART, ASSEMBLED

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import Finding, JobOpened
    from pwa.app.protocol import Draft
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Content
    from pwa.engine.case_code.codec import Case, Said

BY = "case code"
COMPLAINT = "Findings read from a case code"


def of_job(job: "Job", content: "Content") -> str:
    """The code of everything that is settled in a job and known to this version.

    Raises:
        ValueError: this version has no number for the job's drive or place.
    """
    answers = isolation.answers(job, content)
    said = complaints.of(job["opened"], content)
    findings: list[Said] = complaint.carried(said, content, ASSEMBLED)
    taken = [item["finding"] for item in findings]
    for finding in sorted([key for key in answers if key not in taken]):
        answer: Any = answers[finding]
        findings.append(
            {
                "finding": finding,
                "outcome": answer["outcome"],
                "state": _state(answer, finding, content),
                "weights": answer.get("weights", {}),
            }
        )
    return codec.encode(job["opened"]["drive"], here(job)["place"], findings, content["case_code"])


def added(job: "Job", case: "Case", content: "Content") -> "list[Draft]":
    """Drafts for what the job does not say yet. Where it says otherwise both stand, as after any exchange."""
    drafts: list[Draft] = []
    for said in complaint.read(case, content)[1]:
        heads = jobs.of_kind(job["heads"], "finding", finding=said["finding"])
        if all(not _same(record["data"], said, content) for record in heads):
            taken_back = [record for record in heads if record["data"]["outcome"] == NOT_CHECKED]
            drafts.append(draft(job["id"], "finding", _data(said), jobs.ids(taken_back)))
    return drafts + [draft(job["id"], "note", {"text": _note(case)})]


def opened(unit: str, words: str, case: "Case", content: "Content") -> "JobOpened":
    """What the first record of a new job holds, as far as a code says it."""
    place = case["place"] if case["place"] == "roadside" else "bay"  # a turbo that is off is in a bay
    return {
        "unit": unit,
        "complaint": words or COMPLAINT,
        "complaints": complaint.read(case, content)[0],
        "place": place,
        "drive": case["drive"],
        "engine": "other",
        "distance": "",
        "hours": None,
    }


def as_text(case: "Case", content: "Content") -> "list[dict[str, str]]":
    """The findings of a code in words."""
    return [
        {
            "name": name_of(content["findings"], said["finding"]),
            "outcome": outcome_label(content, said["finding"], said["outcome"]),
            "state": seen(said["state"], content),
        }
        for said in complaint.read(case, content)[1]
    ]


def mended(case: "Case") -> "list[str]":
    """Each character that was read wrongly, by the group that a person looks for."""
    found = []
    for item in case["mended"]:
        group, place = (item["at"] - 1) // checked_text.GROUP + 1, (item["at"] - 1) % checked_text.GROUP + 1
        found.append(f"Group {group}, character {place}: not {item['read']}, but {item['meant']}.")
    return found


def seen(state: str, content: "Content") -> str:
    """The state of a code's finding in words; an assembled truck with nothing open needs none."""
    return "" if state == ASSEMBLED else state if state == APART else name_of(content["openings"], state)


def _state(said: "Any", finding: str, content: "Content") -> str:
    known: Any = find(content["findings"], finding)
    return truck.seen_state(known, said, content["model"]["openings"])


def _same(data: "Finding", said: "Said", content: "Content") -> bool:
    state = _state(data, said["finding"], content)
    return bool(data["outcome"] == said["outcome"] and state == said["state"])


def _data(said: "Said") -> "Finding":
    data: Finding = {
        "finding": said["finding"],
        "outcome": said["outcome"],
        "by": BY,
        "state": APART if said["state"] == APART else ASSEMBLED,
    }
    if said["state"] not in (APART, ASSEMBLED):
        data["opened"] = [said["state"]]
    if said["weights"]:
        data["weights"] = said["weights"]
    return data


def _note(case: "Case") -> str:
    text = f"Case code {' '.join(checked_text.groups(case['code']))} read."
    return " ".join([text] + mended(case))
