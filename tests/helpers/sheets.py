"""What a person types into a measure of content/, as the screen and the command line turn it into SI."""

import functools
from collections.abc import Callable, Collection
from pathlib import Path
from typing import Any

import yaml
from hypothesis import strategies as st

from pwa.build.content import schema
from pwa.engine import measures as calculations
from pwa.engine.numbers import units

CONTENT = Path(__file__).parents[2] / "content/measures"


@functools.cache
def all_measures() -> list[schema.Measure]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    texts = [path.read_text("utf-8") for path in sorted(CONTENT.glob("*.yaml"))]
    return [schema.Measure(**yaml.load(text, loader)) for text in texts]


def measures_of(kinds: Collection[str]) -> dict[str, schema.Measure]:
    """The measures of these kinds, by key."""
    return {measure.key: measure for measure in all_measures() if measure.kind in kinds}


def limits_of(measure: schema.Measure) -> dict[str, float]:
    return {limit.key: limit.value for limit in measure.limits}


def read(measure: schema.Measure, typed: dict[str, Any]) -> dict[str, Any]:
    """Texts as values in SI; rows are lists of texts."""
    inputs = {item.key: item for item in measure.inputs}

    def value(item: schema.Input, text: Any) -> Any:
        if not item.columns:
            return _one(item, text)
        return [[_one(column, cell) for column, cell in zip(item.columns, row, strict=True)] for row in text]

    return {key: value(inputs[key], text) for key, text in typed.items()}


def _one(item: schema.Input, text: str) -> Any:
    if item.choices:
        assert text in {choice.key for choice in item.choices}
        return text
    return units.parse(text, units.quantity_of(item.unit), item.unit)


def units_are_known(measure: schema.Measure) -> bool:
    """Whether every input and limit has choices, columns or a unit that can be typed."""
    inputs = [*measure.inputs, *(column for item in measure.inputs for column in item.columns)]
    asked = [item.unit for item in inputs if not item.choices and not item.columns]
    return all(units.quantity_of(unit) for unit in asked + [limit.unit for limit in measure.limits])


@st.composite
def anything(draw: st.DrawFn, measures: dict[str, schema.Measure]) -> tuple[schema.Measure, dict[str, Any]]:
    """A measure, and numbers of a size that people type for its units, sensible or not."""
    measure = measures[draw(st.sampled_from(sorted(measures)))]

    def value(item: schema.Input) -> Any:
        if item.choices:
            return draw(st.sampled_from([choice.key for choice in item.choices]))
        factor, offset = units.UNITS[units.quantity_of(item.unit)][item.unit]
        usual = st.sampled_from([-1.0, 0.0, 1.0, 10.0, 83.0, 200.0]) | st.floats(-50, 400) | st.floats(0, 15)
        return factor * draw(usual) + offset

    values: dict[str, Any] = {}
    for item in measure.inputs:
        if item.columns:
            rows = range(draw(st.integers(0, 5)))
            values[item.key] = [[value(column) for column in item.columns] for _ in rows]
        elif not item.optional or draw(st.booleans()):
            values[item.key] = value(item)
    return measure, values


def calculator(measures: Any, known: dict[str, schema.Measure]) -> Callable[..., Any]:
    """The verdict of a measure of content/ on what is typed, with its own limits or changed ones."""

    def run(key: str, typed: dict[str, Any], **changed: float) -> Any:
        limits = limits_of(known[key]) | changed
        return measures.calculate(known[key].calculation, read(known[key], typed), limits)

    return run


def judge_or_refuse(measure: schema.Measure, values: dict[str, Any]) -> None:
    """Insists on a verdict in numbers, or on a sentence that says why there is none."""
    try:
        verdict = calculations.calculate(measure.calculation, values, limits_of(measure))
    except ValueError as error:
        assert str(error).endswith((".", "?"))
    else:
        assert isinstance(verdict["value"], float)
        assert all(isinstance(item["value"], float) for item in verdict["details"])
