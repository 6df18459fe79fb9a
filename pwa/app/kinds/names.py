"""The names that content gives to keys, where a record's words need one."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwa.app.protocol import Content

NOT_CHECKED = "not-checked"  # the outcome of a finding whose answer was taken back


def name_of(content: "Content", table: str, key: str, field: str = "name") -> str:
    """The name that content gives to a key, or the key itself when this version does not know it."""
    for item in content[table]:
        if item["key"] == key:
            return str(item[field])
    return key


def outcome_label(content: "Content", finding: str, outcome: str) -> str:
    if outcome == NOT_CHECKED:
        return "answer taken back"
    for item in content["findings"]:
        if item["key"] == finding:
            for choice in item["outcomes"]:
                if choice["key"] == outcome:
                    return str(choice["label"])
    return outcome


def with_note(text: str, note: str) -> str:
    return f"{text} ({note})" if note else text
