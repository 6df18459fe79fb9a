"""What every measurement comes to: a value, a sentence, and the outcome of the finding it answers."""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any

    # What was typed, by key: a number in SI, the key of a choice, or rows of numbers.
    Values = dict[str, Any]


class Detail(TypedDict):
    label: str
    value: float
    unit: str


class Verdict(TypedDict):
    """`outcome` is an outcome of the finding that the measurement answers, "" if it answers nothing."""

    value: float
    unit: str
    outcome: str
    sentence: str
    details: "list[Detail]"
    warnings: "list[str]"


def detail(label: str, value: float, unit: str) -> Detail:
    return {"label": label, "value": value, "unit": unit}


def verdict(
    value: float,
    unit: str,
    outcome: str,
    sentence: str,
    details: "list[Detail]",
    warnings: "list[str] | None" = None,
) -> Verdict:
    return {
        "value": value,
        "unit": unit,
        "outcome": outcome,
        "sentence": sentence,
        "details": details,
        "warnings": warnings or [],
    }
