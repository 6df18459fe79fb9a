"""Words that records of several kinds need."""

from typing import TYPE_CHECKING

from pwa.app.content import find, name_of

if TYPE_CHECKING:
    from pwa.app.protocol import Content

NOT_CHECKED = "not-checked"  # the outcome of a finding whose answer was taken back


def outcome_label(content: "Content", finding: str, outcome: str) -> str:
    """An outcome in words, or its key when this version does not know it."""
    if outcome == NOT_CHECKED:
        return "answer taken back"
    known = find(content["findings"], finding)
    choice = find(known["outcomes"], outcome) if known else None
    return choice["label"] if choice else outcome


def check_name(content: "Content", key: str) -> str:
    """The name of a check: of a finding, or of a scan that answers many."""
    scan = find(content["scans"], key)
    return scan["name"] if scan else name_of(content["findings"], key)


def with_note(text: str, note: str) -> str:
    return f"{text} ({note})" if note else text
