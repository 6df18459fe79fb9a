"""A new cause, measure or joint: its file of content, and a measure's calculation with its test."""

from pathlib import Path
from string import Template

import yaml

from pwa.build.content import schema
from pwa.build.new import blank, notes
from pwa.build.new.files import Made, module_of

BUILD = "Run `layby build`. It lists what is still missing, with file and line."
CALCULATION = Template('''\
"""FILL IN: what is measured, in one line."""

from typing import TYPE_CHECKING

from pwa.engine.measures.declared import Calculation, number
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict


def judge(values: "Values", limits: "Values") -> "Verdict":
    """FILL IN: what is held against what, and the source of the formula."""
    reading, most = values["reading"], limits["most"]
    high = reading > most  # FILL IN: a reading comes in SI (Pa, V, K, m), a limit in its unit below
    sentence = "FILL IN: too much, and what to do." if high else "FILL IN: it is as it should be."
    details = [detail("Read", reading, "FILL IN: unit"), detail("At most", most, "FILL IN: unit")]
    return verdict(reading, "FILL IN: unit", "high" if high else "ok", sentence, details)


CALCULATIONS: "dict[str, Calculation]" = {
    "judge": Calculation(
        judge,
        (number("reading", "FILL IN: a quantity of pwa/engine/numbers/units.py"),),
        {"most": "FILL IN: the unit of this limit"},
        ("ok", "high"),  # FILL IN: what it may answer; the same keys as the finding's outcomes
    ),
}
''')
TEST = Template('''\
"""The calculation of content/measures/$key.yaml."""

import pytest

# FILL IN: readings in SI, limits in their own unit, and what was worked out by hand or taken from a source.
CASES = [
    ({"reading": ...}, {"most": ...}, "ok"),
    ({"reading": ...}, {"most": ...}, "high"),
]


@pytest.mark.parametrize(("values", "limits", "outcome"), CASES)
def test_a_reading_is_judged_on_both_interpreters(twin, values, limits, outcome):
    assert twin("pwa.engine.measures").calculate("$module.judge", values, limits)["outcome"] == outcome
''')


def cause(key: str, root: Path) -> Made:
    if (root / f"content/model/findings/{key}.yaml").exists():
        raise ValueError(f"There is a finding called {key}. Choose another key.")
    name = f"content/model/causes/{key}.yaml"
    text = blank.text(schema.Cause, {"key": key}, {"wrong", "put_right"}, notes.CAUSE)
    return Made(
        {name: text},
        [
            f"Fill in {name}.",
            f"Write `{key}: [chance, ...]` under `shown_by` of each file in content/model/findings that shows"
            " it, one chance for each outcome but the first. Without one, no answer can speak for it.",
            "If no repair in content/repairs.yaml cures it, add one there.",
            BUILD,
            "Add a truck that has it to tests/content/test_cases.py.",
        ],
        {},
    )


def measure(key: str, root: Path) -> Made:
    module = module_of(key)
    name, code = f"content/measures/{key}.yaml", f"pwa/engine/measures/{module}.py"
    test = f"tests/engine/measures/test_{module}.py"
    given = {
        "key": key,
        "calculation": f"{module}.judge",
        "inputs.key": "reading",
        "limits.key": "most",
    }
    text = blank.text(schema.Measure, given, {"inputs.unit", "limits", "sources"}, notes.MEASURE)
    files = {
        name: text,
        code: CALCULATION.substitute(),
        test: TEST.substitute(key=key, module=module),
    }
    return Made(
        files,
        [
            f"Write the calculation in {code}. It holds one reading against one limit;"
            " declare other inputs and limits as the other modules there do.",
            f"Fill in {name} with the same inputs and limits.",
            f"Write worked examples into {test} and run `python -m pytest {test}`.",
            BUILD,
        ],
        {},
    )


def joint(key: str, root: Path) -> Made:
    others = [yaml.safe_load(path.read_text("utf-8")) for path in (root / "content/joints").glob("*.yaml")]
    order = 1 + max((other["order"] for other in others), default=0)
    name = f"content/joints/{key}.yaml"
    text = blank.text(schema.Joint, {"key": key, "order": str(order)}, set(), notes.JOINT)
    return Made({name: text}, [f"Fill in {name}. Its order, {order}, puts it last.", BUILD], {})
