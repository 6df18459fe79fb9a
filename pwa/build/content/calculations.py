"""Measures of content held against the calculations they name: inputs, units, limits, outcomes."""

import pkgutil
from collections.abc import Iterator

from pydantic import BaseModel

from pwa.build.content import schema
from pwa.build.content.names import missing
from pwa.engine import measures
from pwa.engine.measures.declared import Calculation, Input
from pwa.engine.numbers import units

Where = tuple[str | int, ...]
Problem = tuple[BaseModel, Where, str]  # as in references.py


def problems(content: schema.Content) -> Iterator[Problem]:
    findings = {item.key: [outcome.key for outcome in item.outcomes] for item in content.findings}
    for measure in content.measures:
        try:
            calculation = measures.find(measure.calculation)
        except ValueError:
            yield measure, ("calculation",), missing("calculation", measure.calculation, _calculations())
            continue
        yield from _inputs(measure, calculation)
        yield from _limits(measure, calculation)
        if measure.finding in findings:
            yield from _outcomes(measure, calculation, findings[measure.finding])


def _calculations() -> list[str]:
    modules = [item.name for item in pkgutil.iter_modules(measures.__path__)]
    tables = {
        module: getattr(__import__(f"{measures.__name__}.{module}", None, None, ("*",)), "CALCULATIONS", {})
        for module in modules
    }
    return [f"{module}.{name}" for module, table in tables.items() for name in table]


def _inputs(measure: schema.Measure, calculation: Calculation) -> Iterator[Problem]:
    declared = {item.key: item for item in calculation.inputs}
    written = {item.key for item in measure.inputs}
    for at, item in enumerate(measure.inputs):
        where = ("inputs", at)
        if item.key in declared:
            yield from _input(measure, where, item, declared[item.key])
        else:
            free = [key for key in declared if key not in written]
            yield measure, (*where, "key"), missing("input", item.key, free, f" in {measure.calculation}")
    strangers = written - declared.keys()
    for key, wanted in declared.items():
        if key not in written and not wanted.optional and not strangers:  # else that line says it already
            yield measure, ("inputs",), f"{measure.calculation} needs an input {key}; add it here"


def _input(measure: schema.Measure, where: Where, item: schema.Input, wanted: Input) -> Iterator[Problem]:
    if item.optional and not wanted.optional:
        yield measure, (*where, "optional"), f"{measure.calculation} cannot do without {item.key}"
    if wanted.choices:
        if not item.choices:
            yield measure, where, f"{item.key} is a choice of {', '.join(wanted.choices)}; write choices"
        for at, choice in enumerate(item.choices):
            if choice.key not in wanted.choices:
                yield measure, (*where, "choices", at), missing("choice", choice.key, wanted.choices)
    elif wanted.columns:
        keys = [key for key, _ in wanted.columns]
        if [column.key for column in item.columns] != keys:
            yield measure, where, f"{item.key} is rows; write the columns {', '.join(keys)}, in this order"
            return
        for at, (column, (_, quantity)) in enumerate(zip(item.columns, wanted.columns, strict=True)):
            yield from _unit(measure, (*where, "columns", at), column, quantity)
    elif item.choices or item.columns:
        yield measure, where, f"{item.key} is a {wanted.quantity}; write its unit, no choices or columns"
    else:
        yield from _unit(measure, where, item, wanted.quantity)


def _unit(measure: schema.Measure, where: Where, item: schema.Input, quantity: str) -> Iterator[Problem]:
    fitting = list(units.UNITS.get(quantity, ()))
    if quantity not in units.UNITS:
        text = missing("quantity", quantity, units.UNITS, f" in units.py, as {measure.calculation} says")
        yield measure, where, text
    elif item.unit not in fitting:
        yield measure, (*where, "unit"), missing(f"unit of {quantity}", item.unit, fitting)


def _limits(measure: schema.Measure, calculation: Calculation) -> Iterator[Problem]:
    written = {item.key for item in measure.limits}
    for at, item in enumerate(measure.limits):
        unit = calculation.limits.get(item.key)
        if unit is None:
            free = [key for key in calculation.limits if key not in written]
            text = missing("limit", item.key, free, f" in {measure.calculation}")
            yield measure, ("limits", at, "key"), text
        elif item.unit != unit:
            text = f"{measure.calculation} takes {item.key} in {unit}, not in {item.unit}"
            yield measure, ("limits", at, "unit"), text
    for key, unit in calculation.limits.items():
        if key not in written and not written - calculation.limits.keys():
            yield measure, ("limits",), f"{measure.calculation} needs a limit {key} in {unit}; add it here"


def _outcomes(measure: schema.Measure, calculation: Calculation, known: list[str]) -> Iterator[Problem]:
    strangers = [key for key in calculation.outcomes if key not in known]
    if strangers or not calculation.outcomes:
        answers = ", ".join(calculation.outcomes) or "nothing"
        text = f"{measure.calculation} answers {answers}, and {measure.finding} has {', '.join(known)}"
        yield measure, ("finding",), f"{text}: give both the same outcomes, or name no finding"
