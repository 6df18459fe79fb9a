"""The complaint in a case code. It goes among the findings, where a version that knows none reads past it.

A code without lost power is of a job that said nothing else: lost power is its complaint. "Lost power: yes"
says that the other complaints in the code are complaints too, and not answers. "Lost power: no" with weights,
which no person answers, says that lost power is not among them.
"""

from typing import TYPE_CHECKING

from pwa.engine.evidence.case import COMPLAINT, UNNAMED

if TYPE_CHECKING:
    from pwa.app.shapes import Content
    from pwa.engine.case_code.codec import Case, Said


def carried(complaints: "list[str]", content: "Content", state: str) -> "list[Said]":
    """The complaints as findings of a code: none for lost power alone."""
    if complaints == [COMPLAINT]:
        return []
    found: list[Said] = []
    for item in content["findings"]:
        if item["key"] in complaints:
            found.append({"finding": item["key"], "outcome": item["given"], "state": state, "weights": {}})
        elif item["key"] == COMPLAINT:
            outcome = item["outcomes"][0]["key"]
            weights = {outcome: 1.0, item["given"]: UNNAMED}
            found.append({"finding": COMPLAINT, "outcome": outcome, "state": state, "weights": weights})
    return found


def read(case: "Case", content: "Content") -> "tuple[list[str], list[Said]]":
    """The complaints of a code, and the findings that are answers."""
    given = {item["key"]: item["given"] for item in content["findings"] if item["given"]}
    marks = [said for said in case["findings"] if said["finding"] == COMPLAINT]
    named = [said for said in marks if said["weights"] or said["outcome"] == given[COMPLAINT]]
    if not named:
        return [COMPLAINT], case["findings"]
    yes = [said["finding"] for said in case["findings"] if given.get(said["finding"], "") == said["outcome"]]
    left = [said for said in case["findings"] if said["finding"] not in yes and not _is_mark(said)]
    return yes or [COMPLAINT], left


def _is_mark(said: "Said") -> bool:
    return said["finding"] == COMPLAINT and bool(said["weights"])
