"""Fasteners and shaft play as worksheets: results, warnings, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine import measures as module
from pwa.engine.bolts import threads as threads_module
from pwa.engine.bolts import tightening as tightening_module
from pwa.engine.measures import clearances, fasteners
from tests.helpers.sheets import all_measures

MEASURES = {measure.key: measure for measure in all_measures() if measure.kind in ("fasteners", "clearances")}
M10 = {"diameter": 0.010, "pitch": 0.0015, "strength": "8.8"}
INCH = {"diameter": 0.75 * 0.0254, "per_inch": 16.0, "strength": "grade-5"}
CHECK = {"meant": "zinc", "surface": "zinc"}
ANGLE = M10 | {"torque": 20.0, "angle": 30.0, "grip": 0.08, "surface": "oil"}
FACE = {"thread": 0.12, "head": 0.12, "outer": 0.01463, "hole": 0.011}
PLAY = {"readings": [[0.0, 1.5e-4], [-1e-5, 1.5e-4]], "most": 2e-4}


@pytest.fixture(scope="module")
def calculate(twin):
    """The verdict of a measure of content/, with its own limits, on both interpreters."""
    measures = twin("pwa.engine.measures")

    def run(key, values, **limits):
        own = {limit.key: limit.value for limit in MEASURES[key].limits}
        return measures.calculate(MEASURES[key].calculation, values, own | limits)

    return run


def number(verdict, label):
    return next(item["value"] for item in verdict["details"] if item["label"].startswith(label))


def test_content_asks_for_each_calculation():
    asked = {measure.calculation for measure in MEASURES.values()}
    assert asked == {f"fasteners.{name}" for name in fasteners.CALCULATIONS} | {
        f"clearances.{name}" for name in clearances.CALCULATIONS
    }


def test_choices_of_content_are_known_to_the_engine():
    for measure in MEASURES.values():
        for item in measure.inputs:
            keys = {choice.key for choice in item.choices}
            if item.key == "strength":
                assert keys <= threads_module.METRIC.keys() | threads_module.GRADES.keys()
            if item.key == "surface":
                assert keys == set(fasteners.SURFACES)


def test_no_makers_value_is_built_in():
    """The limits are shares, scatter and reading doubt; torque and play are typed."""
    for measure in MEASURES.values():
        assert {limit.unit for limit in measure.limits} <= {"%", "mm"}
        assert [limit.key for limit in measure.limits if limit.unit == "mm"] in ([], ["doubt"])


def test_a_torque_for_a_preload(calculate):
    # 0.2 · 10 mm · 0.75 · 580 MPa · 57.99 mm², worked by hand: 50.45 N·m.
    verdict = calculate("bolt-preload", M10 | {"surface": "zinc"})
    assert verdict["value"] == pytest.approx(50.45, abs=0.01)
    assert "37.2 lb·ft" in verdict["sentence"]
    assert "maker's torque goes first" in verdict["warnings"][0]
    other = calculate("bolt-preload", M10 | {"surface": "zinc", "k": 0.1})
    assert other["value"] == pytest.approx(verdict["value"] / 2)
    assert calculate("bolt-preload", INCH | {"surface": "oil"})["value"] > 0


def test_a_torque_by_friction_warns_beyond_what_the_bolt_bears(calculate):
    verdict = calculate("bolt-friction", M10 | FACE)
    assert len(verdict["warnings"]) == 1
    assert 0.15 < number(verdict, "As a nut factor") < 0.18  # about 0.163 at a friction of 0.12
    assert (
        "pull and twist together" in calculate("bolt-friction", M10 | FACE | {"preload": 31e3})["warnings"][1]
    )
    assert "above the proof load" in calculate("bolt-friction", M10 | FACE | {"preload": 35e3})["warnings"][2]


@pytest.mark.parametrize(
    ("torque", "surfaces", "outcome", "says"),
    [
        (45.0, CHECK, "ok", ""),
        (58.0, CHECK, "ok", "usual scatter"),
        (80.0, CHECK, "high", ""),
        (45.0, {"meant": "zinc", "surface": "anti-seize"}, "high", "67 % harder"),
        (30.0, {"meant": "zinc", "surface": "anti-seize"}, "", "not for a thread with anti-seize"),
        (30.0, {"meant": "oil", "surface": "anti-seize"}, "", "not for a thread with anti-seize"),
        (30.0, {"meant": "unknown", "surface": "oil"}, "", "Find out"),
        (30.0, {"meant": "anti-seize", "surface": "anti-seize"}, "ok", ""),
        (30.0, {"meant": "oil", "surface": "black"}, "ok", ""),
    ],
)
def test_a_torque_is_held_against_the_bolt_and_its_thread(calculate, torque, surfaces, outcome, says):
    verdict = calculate("torque-check", M10 | surfaces | {"torque": torque})
    assert verdict["outcome"] == outcome
    assert any(says in warning for warning in verdict["warnings"])
    assert len(verdict["warnings"]) == 1 + bool(says)


def test_pound_feet_typed_as_newton_metres_are_not_too_much_but_the_other_way_is(calculate):
    assert calculate("torque-check", M10 | CHECK | {"torque": 50 * 1.3558})["outcome"] == "high"


def test_an_angle_gives_a_range_between_a_soft_and_a_rigid_joint(calculate):
    verdict = calculate("torque-angle", ANGLE)
    assert verdict["outcome"] == "ok"
    snug, least, most = (number(verdict, label) for label in ("Preload", "After", "at most"))
    assert most - snug == pytest.approx(2 * (least - snug))
    far = calculate("torque-angle", ANGLE | {"angle": 180.0})
    assert far["outcome"] == "high"
    assert "used once" in far["warnings"][1]


def test_a_wrench_with_an_extension(calculate):
    verdict = calculate("wrench-extension", {"torque": 50.0, "wrench": 0.4, "extension": 0.05})
    assert verdict["value"] == pytest.approx(44.44, abs=0.005)
    assert "straight ahead" in verdict["warnings"][0]
    assert number(verdict, "Without it") == pytest.approx(50 * 450 / 400)
    square = calculate("wrench-extension", {"torque": 50.0, "wrench": 0.4, "extension": 0.05, "angle": 90.0})
    assert square["value"] == pytest.approx(50)
    assert square["warnings"] == []


def test_stages_are_named_in_turn_and_the_angle_last(calculate):
    verdict = calculate("torque-stages", {"torque": 60.0, "stages": 3.0, "angle": 90.0})
    words = ["18.0 N·m", "39.0 N·m", "60.0 N·m", "90° further"]
    places = [verdict["sentence"].index(word) for word in words]
    assert places == sorted(places)


def test_a_v_band_clamp_settles_between_its_steps(calculate):
    sentence = calculate("v-band-steps", {"torque": 12.0})["sentence"]
    assert sentence.count("tap round it") == 2
    assert sentence.index("6.0 N·m") < sentence.index("12.0 N·m")


@pytest.mark.parametrize("key", ["shaft-radial-play", "shaft-axial-play"])
@pytest.mark.parametrize(
    ("values", "outcome"),
    [
        ({}, "ok"),
        ({"readings": [[0.0, 2.5e-4]]}, "high"),
        ({"readings": [[0.0, -2.5e-4]]}, "high"),
        ({"readings": [[0.0, 2.0e-4]]}, ""),
        ({"least": 1.9e-4}, ""),
        ({"readings": [[0.0, 2.5e-4]], "slant": 60.0}, "ok"),
    ],
)
def test_play_against_what_the_shop_typed(calculate, key, values, outcome):
    verdict = calculate(key, PLAY | values)
    assert verdict["outcome"] == outcome
    assert " in)" in verdict["sentence"]


def test_the_widest_row_counts_and_one_row_alone_is_doubted(calculate):
    verdict = calculate("shaft-radial-play", PLAY)
    assert verdict["value"] == pytest.approx(0.16)
    assert verdict["warnings"] == []
    alone = calculate("shaft-radial-play", PLAY | {"readings": [[0.0, 1e-4]], "slant": 10.0})
    assert ["cosine" in text or "One row" in text for text in alone["warnings"]] == [True, True]


@pytest.mark.parametrize(
    ("key", "values", "says"),
    [
        ("bolt-preload", M10 | {"surface": "wax"}, "no surface called"),
        ("bolt-preload", M10 | {"surface": "zinc", "k": 2.0}, "nut factor"),
        ("bolt-preload", M10 | {"surface": "zinc", "strength": "7.7"}, "no property class"),
        ("bolt-preload", M10 | {"surface": "zinc", "diameter": 10.0}, "up to 39"),
        ("bolt-preload", M10 | {"surface": "zinc", "pitch": 1.5}, "no pitch of"),
        ("bolt-preload", {"diameter": 0.01, "strength": "8.8", "surface": "zinc"}, "threads per inch"),
        ("bolt-preload", INCH | {"surface": "zinc", "per_inch": 1.0}, "2 to 80"),
        ("bolt-friction", M10 | FACE | {"hole": 0.02}, "wider than"),
        ("bolt-friction", M10 | FACE | {"thread": 1.2}, "coefficient"),
        ("bolt-friction", M10 | FACE | {"preload": 0.0}, "above 0"),
        ("torque-check", M10 | CHECK | {"torque": 0.0}, "above 0"),
        ("torque-angle", ANGLE | {"grip": 0.0}, "length"),
        ("torque-angle", ANGLE | {"angle": 900.0}, "two turns"),
        ("wrench-extension", {"torque": -5.0, "wrench": 0.4, "extension": 0.05}, "above 0"),
        ("torque-stages", {"torque": 60.0, "stages": 2.5}, "whole number"),
        ("torque-stages", {"torque": 60.0, "stages": 3.0, "angle": 0.0}, "two turns"),
        ("v-band-steps", {"torque": 0.0}, "above 0"),
        ("shaft-radial-play", PLAY | {"slant": 80.0}, "in line"),
        ("shaft-axial-play", PLAY | {"most": 0.0}, "above 0"),
        ("shaft-axial-play", PLAY | {"least": 3e-4}, "below the most"),
        ("shaft-axial-play", PLAY | {"readings": [[0.0, 0.15]]}, "cannot be"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(calculate, key, values, says):
    with pytest.raises(ValueError, match=says):
        calculate(key, values)


@given(st.floats(0.004, 0.039), st.floats(0.05, 0.3), st.sampled_from(sorted(threads_module.METRIC)))
def test_torque_and_preload_turn_each_other_back(diameter, k, name):
    force = 1000.0
    torque = tightening_module.torque(k, diameter, force)
    assert tightening_module.preload(k, diameter, torque) == pytest.approx(force)
    try:
        found = threads_module.strength(name, diameter)
    except ValueError:
        assert name == "9.8"  # made up to 16 mm
    else:
        assert found["proof"] < found["yielding"] < found["tensile"]


@given(st.floats(-100, 1e4), st.floats(-0.01, 1), st.floats(-0.01, 0.1))
def test_whatever_is_typed_gives_a_verdict_or_a_reason(torque, diameter, pitch):
    values = {"torque": torque, "diameter": diameter, "pitch": pitch, "strength": "10.9"} | CHECK
    try:
        assert module.calculate("fasteners.torque_check", values, {"scatter": 25})["sentence"].endswith(".")
    except ValueError as error:
        assert str(error).endswith(".")
