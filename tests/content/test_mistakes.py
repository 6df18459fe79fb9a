"""Each mistake that a writer of content makes is one line: file, line, field, and what to do."""

import shutil
from pathlib import Path

import pytest

from pwa.build.content import reader

REAL = Path(__file__).parents[2] / "content"
DROP = "measures/ground-drop.yaml"
MISTAKES = {
    "a chance that is none": (
        "model/causes/vanes-sooted.yaml", "chance: 0", "chance: 3 # 0", "chance: Input should be less than 1",
    ),
    "a field misspelt": (DROP, "where:", "wehre:", "wehre: there is no field wehre; did you mean where?"),
    "a step that is none": (
        "joints/pipes.yaml", "opens: repair", "opens: repairs",
        "opens: Input should be 'safe', 'codes', 'isolate', 'measure', 'joints', 'repair', 'fasteners', "
        "'cause', 'prove', 'summary' or ''",
    ),
    "two joints of one order": (
        "joints/pipes.yaml", "order: 6", "order: 2",
        "order: compressor-housing has the order 2 too; 8 is free",
    ),
    "a tool misspelt": (
        DROP, "tools: [multimeter", "tools: [multimetre",
        "tools.0: there is no tool multimetre in tools.yaml; did you mean multimeter?",
    ),
    "a cause misspelt": (
        "model/findings/soot-seen.yaml", "vanes-sooted:", "vanes-soted:",
        "shown_by.vanes-soted: there is no cause vanes-soted; did you mean vanes-sooted?",
    ),
    "a calculation misspelt": (
        DROP, "electrical.ground_drop", "electrical.groud_drop",
        "calculation: there is no calculation electrical.groud_drop; did you mean electrical.ground_drop?",
    ),
    "an input misspelt": (
        DROP, "- {key: drop, label: Voltage", "- {key: drp, label: Voltage",
        "inputs.0.key: there is no input drp in electrical.ground_drop; did you mean drop?",
    ),
    "an input too many": (
        DROP, "limits:", '  - {key: more, label: More, unit: V}\nlimits:',
        "inputs.1.key: there is no input more in electrical.ground_drop",
    ),
    "an input left out": (
        "measures/supply-drop.yaml", "  - {key: pin, label: Supply pin at the actuator, unit: V}\n", "",
        "inputs: electrical.supply_drop needs an input pin; add it here",
    ),
    "an input optional that is needed": (
        DROP, "two, unit: V}", "two, unit: V, optional: true}",
        "inputs.0.optional: electrical.ground_drop cannot do without drop",
    ),
    "a unit that is none": (
        DROP, "two, unit: V}", "two, unit: volt}",
        "inputs.0.unit: there is no unit of voltage volt; there is V, mV",
    ),
    "a unit of the wrong quantity": (
        DROP, "two, unit: V}", "two, unit: A}",
        "inputs.0.unit: there is no unit of voltage A; there is V, mV",
    ),
    "a gauge pressure that is absolute": (
        "measures/leak-down.yaml", "Pressure at the end, unit: kPa gauge",
        "Pressure at the end, unit: kPa abs",
        "inputs.2.unit: there is no unit of gauge pressure kPa abs; did you mean kPa gauge?",
    ),
    "a column misspelt": (
        "measures/wiggle-test.yaml", "key: largest", "key: larges",
        "inputs.1: rows is rows; write the columns place, smallest, largest, dropouts, in this order",
    ),
    "a column's unit": (
        "measures/wiggle-test.yaml", "label: Largest, unit: V", "label: Largest, unit: s",
        "inputs.1.columns.2.unit: there is no unit of voltage s; there is V, mV",
    ),
    "a choice misspelt": (
        "measures/wire-drop.yaml", "{key: both,", "{key: bot,",
        "inputs.2.choices.1: there is no choice bot; did you mean both?",
    ),
    "a number that is a choice": (
        "measures/bus-levels.yaml", "{key: low, label: CAN_L, unit: V, signed: true}",
        "{key: low, label: CAN_L, choices: [{key: a, label: A}]}",
        "inputs.1: low is a voltage; write its unit, no choices or columns",
    ),
    "a choice that is a number": (
        "measures/bus-levels.yaml", "  - key: state\n",
        '  - {key: state, label: S, unit: "1"}\n  - key: stat\n',
        "inputs.2: state is a choice of recessive, dominant, traffic; write choices",
    ),
    "a limit misspelt": (
        DROP, "- {key: drop, label: Highest", "- {key: drp, label: Highest",
        "limits.0.key: there is no limit drp in electrical.ground_drop; did you mean drop?",
    ),
    "a limit left out": (
        "measures/back-pressure.yaml", "calculation: restriction.back_pressure",
        "calculation: air.sensor_off",
        "limits: air.sensor_off needs a limit difference in kPa; add it here",
    ),
    "a limit's unit": (
        DROP, "value: 0.2, unit: V", "value: 0.2, unit: mV",
        "limits.0.unit: electrical.ground_drop takes drop in V, not in mV",
    ),
    "a finding with other outcomes": (
        DROP, "finding: ground-drop", "finding: soot-seen",
        "finding: electrical.ground_drop answers ok, high, and soot-seen has no, yes: give both the same "
        "outcomes, or name no finding",
    ),
    "a finding that nothing answers": (
        "measures/wrench-extension.yaml", "calculation:", "finding: soot-seen\ncalculation:",
        "finding: fasteners.wrench answers nothing, and soot-seen has no, yes: give both the same outcomes, "
        "or name no finding",
    ),
    "a proof's unit": ("proofs.yaml", 'unit: "%"', 'unit: "percents"', "unit: there is no unit percents"),
    "a source misspelt": (
        DROP, "source: common-practice", "source: common-practise",
        "limits.0.source: there is no source common-practise in sources.yaml; did you mean common-practice?",
    ),
}  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_one_line_with_file_line_and_what_to_do(mistake, tmp_path):
    name, old, new, says = MISTAKES[mistake]
    shutil.copytree(REAL, tmp_path / "content")
    file = tmp_path / "content" / name
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(reader.ContentError) as caught:
        reader.load(tmp_path / "content")
    problems = caught.value.problems
    if mistake in ("a choice that is a number", "a limit left out"):  # the file is wrong in more than one way
        problems = [problem for problem in problems if says in problem]
    assert len(problems) == 1, problems
    place, line, said = problems[0].split(":", 2)
    assert place == name
    assert says in said
    changed = text[: text.index(old)].count("\n") + 1
    # What is missing stands nowhere, and columns are judged together: their line is that of what holds them.
    around = 8 if "left out" in mistake or mistake == "a column misspelt" else 2
    assert abs(int(line) - changed) <= around
