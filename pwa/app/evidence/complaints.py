"""What a job is about, as the model has it: one or several complaints, lost power where nobody said."""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.case import COMPLAINT

if TYPE_CHECKING:
    from pwa.app.kinds.data import JobOpened
    from pwa.app.shapes import Content, Finding


class Tap(TypedDict):
    key: str
    label: str
    ticked: bool


def of(opened: "JobOpened", content: "Content") -> "list[str]":
    """The complaints that this version knows."""
    said = opened.get("complaints") or []
    return [item["key"] for item in _possible(content) if item["key"] in said] or [COMPLAINT]


def taps(content: "Content", ticked: "list[str]") -> "list[Tap]":
    """What can be tapped when a job starts, lost power first."""
    return [
        {"key": item["key"], "label": item["complaint"], "ticked": item["key"] in (ticked or [COMPLAINT])}
        for item in _possible(content)
    ]


def chosen(content: "Content", ticked: "list[str]") -> "list[str]":
    """Of what was tapped, the complaints there are, in their order."""
    return [item["key"] for item in _possible(content) if item["key"] in ticked]


def as_text(complaints: "list[str]", content: "Content") -> str:
    return ", ".join([item["complaint"] for item in _possible(content) if item["key"] in complaints])


def _possible(content: "Content") -> "list[Finding]":
    found = [item for item in content["findings"] if item["complaint"]]
    return sorted(found, key=lambda item: (item["key"] != COMPLAINT, item["key"]))
