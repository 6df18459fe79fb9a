"""What each calculation declares is what it does: values read, limits read, outcomes given."""

import random
from pathlib import Path

import pytest

from pwa.engine import measures
from pwa.engine.measures import electrical
from pwa.engine.numbers import units
from tests.helpers import sheets

FOLDER = Path(measures.__file__).parent
NAMES = [
    f"{path.stem}.{name}"
    for path in sorted(FOLDER.glob("*.py"))
    for name in getattr(
        __import__(f"pwa.engine.measures.{path.stem}", None, None, ("*",)), "CALCULATIONS", {}
    )
]
CONTENT = {measure.calculation: measure for measure in sheets.all_measures()}
ROUNDS = 1500
# Plausible numbers in SI, so that most draws get past the checks of what cannot be.
USUAL = {
    "absolute pressure": (80e3, 104e3), "angle": (0, 90), "area": (0.5e-6, 10e-6), "current": (0.1, 20),
    "cycles": (0, 30), "force": (5e3, 60e3), "gauge": (4, 20), "gauge pressure": (1e3, 250e3),
    "length": (1e-5, 2e-2), "number": (1, 5), "percent": (0, 100), "places": (0, 2), "pressure": (0, 12e3),
    "resistance": (20, 140), "temperature": (280, 420), "threads": (8, 28), "time": (1, 120),
    "torque": (1, 150), "voltage": (0, 5.6), "volume": (5e-3, 5e-2),
}  # fmt: skip


class Recorded(dict):
    """A dict that remembers which keys were asked for."""

    def __init__(self, *args):
        super().__init__(*args)
        self.asked = set()

    def __getitem__(self, key):
        self.asked.add(key)
        return super().__getitem__(key)

    def __contains__(self, key):
        self.asked.add(key)
        return super().__contains__(key)

    def get(self, key, default=None):
        self.asked.add(key)
        return super().get(key, default)


def number(rng, quantity):
    low, high = USUAL[quantity]
    whole = quantity in ("cycles", "places", "gauge", "number") and rng.random() < 0.8
    return float(rng.randint(low, high)) if whole else rng.uniform(low, high)


def trace(rng):
    """Commands over the whole range and back, followed more or less well."""
    loss, lag, seconds = rng.choice((0, 0, 10, 30)), rng.choice((0, 0, 8)), rng.choice((0.1, 0.1, 2.0))
    commands = [0, 25, 50, 75, 100, 75, 50, 25, 0]
    held = rng.choice((None, None, 50))
    found, time, position = [], 0.0, 0.0
    for at, command in enumerate(commands):
        aim = min(command, 100 - loss) - (lag if at > 4 else 0)
        aim = held if held is not None and command > held and at <= 4 else aim
        for _ in range(40):
            time += 0.1
            position += (aim - position) * min(1.0, 0.1 / seconds)
            found.append([time, float(command), position])
    if rng.random() < 0.2:
        found[rng.randrange(len(found))][2] = rng.choice((300.0, 60.0))
    return found


def typed(rng, name, item):
    if item.choices:
        return rng.choice(item.choices)
    if not item.columns:
        return number(rng, item.quantity)
    if name == "sweep.samples":
        return trace(rng)
    if name == "sweep.table":
        return [row[1:] for row in trace(rng)[39::40]]
    made = [[number(rng, quantity) for _, quantity in item.columns] for _ in range(4)]
    if name == "heat.touch_safe":
        return [[600.0 * at, 480.0 - 40 * at + rng.uniform(0, 2)] for at in range(4)]
    if name == "wiring.wiggle":
        made = [[1.0, min(row[1:3]), max(row[1:3]), rng.choice((0.0, 1.0))] for row in made[:1]]
    return made


def draws(name):
    """Values with more or fewer of the optional ones, and content's limits, the same at every run."""
    rng = random.Random(name)
    declared = measures.find(name)
    for _ in range(ROUNDS):
        share = rng.choice((0.0, 0.5, 1.0))
        wanted = [item for item in declared.inputs if not item.optional or rng.random() < share]
        values = {item.key: typed(rng, name, item) for item in wanted}
        if name == "electrical.hand_sweep":
            swept(rng, values)
        if name == "network.resistance" and rng.random() < 0.2:
            values["ohms"] = rng.choice((0.5, 50e3))  # a short, and a broken line
        if name == "wiring.wiggle" and rng.random() < 0.2:
            values["rows"] = [[1.0, values["steady"], values["steady"], 0.0]]
        yield values, sheets.limits_of(CONTENT[name])


def swept(rng, values):
    """Even steps between two stops, and now and then one that is not even."""
    values["reference"], last = 5.0, rng.choice((2.5, 4.5))
    for at, key in enumerate(electrical.STOPS):
        values[key] = 0.5 + at * (last - 0.5) / 4
    values["half"] += rng.choice((0, 0, 0.5, 1.5))
    values["smallest"], values["largest"] = rng.choice((0.5, 0.5, 0.0)), max(last, values["half"])


@pytest.mark.parametrize("name", NAMES)
def test_what_is_declared_is_what_is_read_and_answered(name):
    declared = measures.find(name)
    optional = {item.key for item in declared.inputs if item.optional}
    asked, limits_asked, outcomes = set(), set(), set()
    for typed_values, content_limits in draws(name):
        values, limits = Recorded(typed_values), Recorded(content_limits)
        try:
            outcomes.add(declared.run(values, limits)["outcome"])
        except KeyError as missing:  # one of two optional ones that belong together
            assert missing.args[0] in optional
            assert optional & set(values), f"{missing} is missing although nothing optional is typed"
        except ValueError:
            pass  # readings that cannot be; what was asked for before that counts
        asked, limits_asked = asked | values.asked, limits_asked | limits.asked
    assert asked == {item.key for item in declared.inputs}
    assert limits_asked == set(declared.limits)
    assert outcomes - {""} == set(declared.outcomes)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_not_optional_is_missed(name):
    declared = measures.find(name)
    for item in declared.inputs:
        if item.optional:
            continue
        missed = False
        for values, limits in draws(name):
            del values[item.key]
            try:
                declared.run(values, limits)
            except KeyError as missing:
                missed = missing.args[0] == item.key
            except ValueError:
                continue
            if missed:
                break
        assert missed, item.key


@pytest.mark.parametrize("name", NAMES)
def test_quantities_and_units_are_known(name):
    declared = measures.find(name)
    for item in declared.inputs:
        pairs = item.columns or (() if item.choices else ((item.key, item.quantity),))
        assert all(quantity in units.UNITS for _, quantity in pairs), item
    assert all(units.quantity_of(unit) for unit in declared.limits.values())


def test_a_module_that_is_broken_says_so_itself(tmp_path, monkeypatch):
    (tmp_path / "broken.py").write_text("from math import no_such_thing\n")
    (tmp_path / "lost.py").write_text("import pwa.engine.measures.not_there\n")
    monkeypatch.setattr(measures, "__path__", [str(tmp_path)])
    with pytest.raises(ImportError, match="no_such_thing"):
        measures.find("broken.anything")
    with pytest.raises(ImportError, match="not_there"):
        measures.find("lost.anything")
    with pytest.raises(ValueError, match="There is no calculation called guess"):
        measures.find("guess.anything")


def test_micropython_knows_no_calculation_of_a_module_that_is_not_there(twin):
    for name in ("guess", "guess.anything", "air.anything", "outside.pressure"):
        with pytest.raises(ValueError, match="There is no calculation called"):
            twin("pwa.engine.measures").calculate(name, {}, {})
