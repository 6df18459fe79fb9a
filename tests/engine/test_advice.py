"""What the evidence says and what to check next, on both interpreters."""

import json
from pathlib import Path

import pytest

from pwa.build import content, model

CONTENT = Path(__file__).parent.parent.parent / "content"
HERE = {"drive": "electric", "place": "bay"}


@pytest.fixture(scope="module")
def advice(twin):
    return twin("pwa.engine.advice")


@pytest.fixture(scope="module")
def compiled():
    return json.loads(json.dumps(model.compile(content.load(CONTENT))))


def test_the_four_standings_add_up_to_one(advice, compiled):
    found = advice.isolate(compiled, {"supply-drop": "high", "soot-seen": "yes"}, HERE)
    assert sum(found["standing"].values()) == pytest.approx(1)


def test_a_dropped_supply_speaks_for_electrical_and_stuck_vanes_for_mechanical(advice, compiled):
    wiring = advice.isolate(compiled, {"supply-drop": "high", "hand-sweep": "smooth"}, HERE)["standing"]
    vanes = advice.isolate(compiled, {"supply-drop": "ok", "hand-sweep": "stops-short"}, HERE)["standing"]
    assert wiring["electrical"] > wiring["mechanical"]
    assert vanes["mechanical"] > vanes["electrical"]


def test_stuck_vanes_and_an_actuator_that_fails_alone_make_both(advice, compiled):
    evidence = {"hand-sweep": "stops-short", "actuator-off-turbo": "no", "code-mechanical": "yes"}
    found = advice.isolate(compiled, evidence, HERE)
    assert found["standing"]["both"] > 0.8
    assert "Both" in found["sure"]


def chance(advice, compiled, evidence, cause):
    suspects = advice.isolate(compiled, evidence, HERE)["suspects"]
    return next(item["p"] for item in suspects if item["cause"] == cause)


def test_an_actuator_that_runs_its_cycle_off_the_turbo_is_largely_cleared(advice, compiled):
    evidence = {"code-mechanical": "yes"}
    for cause in ("actuator-motor-worn", "actuator-electronics"):
        before = chance(advice, compiled, evidence, cause)
        assert chance(advice, compiled, {**evidence, "actuator-off-turbo": "yes"}, cause) < 0.3 * before


def test_a_clean_tailpipe_clears_the_injectors_hardly_at_all(advice, compiled):
    before = chance(advice, compiled, {}, "injector-overfuelling")
    assert chance(advice, compiled, {"black-smoke": "no"}, "injector-overfuelling") > 0.6 * before


def test_coolant_loss_points_upstream(advice, compiled):
    before = advice.isolate(compiled, {"hand-sweep": "stops-short"}, HERE)["upstream"]
    after = advice.isolate(compiled, {"hand-sweep": "stops-short", "coolant-loss": "yes"}, HERE)["upstream"]
    assert after > before


def test_the_suspects_alone_are_those_of_the_whole(advice, compiled):
    evidence = {"code-mechanical": "yes", "coolant-loss": "yes"}
    assert advice.suspects(compiled, evidence, HERE) == advice.isolate(compiled, evidence, HERE)["suspects"]


def test_an_upstream_cause_is_looked_for_once_the_answers_point_to_it(advice, compiled):
    """With a charge leak heard, nobody needs the share of idling; with stuck, sooted vanes it says a lot."""
    leak = {"code-boost-low": "yes", "boost-leak-heard": "yes", "code-mechanical": "no"}
    soot = {"hand-sweep": "stops-short", "soot-seen": "yes", "supply-drop": "ok"}
    worth = {}
    for name, evidence in (("leak", leak), ("soot", soot)):
        checks = advice.isolate(compiled, evidence, HERE)["checks"]
        worth[name] = next(check["worth"] for check in checks if check["finding"] == "idle-share")
    assert worth["soot"] > 5 * worth["leak"]


def test_the_complaint_is_given_and_counts_once(advice, compiled):
    asked = advice.isolate(compiled, {"power-lost": "yes"}, HERE)
    assert asked["standing"] == advice.isolate(compiled, {}, HERE)["standing"]
    assert asked["uncounted"] == ["power-lost"]
    assert asked["reasons"] == []


def test_a_fault_that_explains_the_complaint_clears_the_others(advice, compiled):
    found = {"code-circuit": "yes", "moves-with-harness": "yes", "worse-on-bumps": "yes"}
    for cause in ("charge-leak", "vanes-sooted"):
        assert chance(advice, compiled, found, cause) < 0.7 * chance(advice, compiled, {}, cause)


def test_sticking_vanes_overwork_the_motor(advice, compiled):
    before = chance(advice, compiled, {}, "actuator-motor-worn")
    assert chance(advice, compiled, {"hand-sweep": "stops-short"}, "actuator-motor-worn") > 1.5 * before


def test_only_checks_for_this_drive_and_place_are_offered(advice, compiled):
    roadside = {**HERE, "place": "roadside", "drive": "pneumatic"}
    offered = {check["finding"] for check in advice.isolate(compiled, {}, roadside)["checks"]}
    assert "air-at-actuator" in offered
    assert "oil-at-actuator" not in offered
    assert "actuator-off-turbo" not in offered
    suspects = {item["cause"] for item in advice.isolate(compiled, {}, roadside)["suspects"]}
    assert "air-supply-fault" in suspects
    assert "actuator-motor-worn" not in suspects


def test_a_skipped_or_answered_check_is_not_offered(advice, compiled):
    situation = {**HERE, "skipped": ["soot-seen"]}
    offered = {
        check["finding"] for check in advice.isolate(compiled, {"supply-drop": "ok"}, situation)["checks"]
    }
    assert not offered & {"soot-seen", "supply-drop"}


def test_what_is_seen_in_another_state_of_assembly_proves_nothing(advice, compiled):
    apart = {**HERE, "state": "turbine housing off"}
    prior = advice.isolate(compiled, {}, apart)["standing"]
    assert advice.isolate(compiled, {"hand-sweep": "smooth"}, apart)["standing"] == prior


def test_checks_come_best_first_and_say_why(advice, compiled):
    checks = advice.isolate(compiled, {"code-mechanical": "yes"}, HERE)["checks"]
    worths = [check["worth"] for check in checks]
    assert worths == sorted(worths, reverse=True)
    assert "speaks for Vanes stick" in checks[0]["why"]
    assert all(check["why"] for check in checks[:12])


def test_each_answer_has_a_reason_that_points_its_way(advice, compiled):
    reasons = advice.isolate(compiled, {"supply-drop": "high", "hand-sweep": "stops-short"}, HERE)["reasons"]
    moves = {reason["finding"]: reason["moves"] for reason in reasons}
    assert moves["supply-drop"]["electrical"] > 0.5
    assert moves["hand-sweep"]["mechanical"] > 0.5


def test_answers_that_do_not_fit_together_are_pointed_out(advice, compiled):
    together = {"soot-seen": "yes", "hand-sweep": "stops-short", "code-mechanical": "yes"}
    assert advice.isolate(compiled, together, HERE)["conflict"] == ""
    apart = {"actuator-off-turbo": "yes", "actuator-sounds": "silent", "code-mechanical": "yes"}
    assert "Actuator run off the turbo" in advice.isolate(compiled, apart, HERE)["conflict"]


@pytest.mark.parametrize("evidence", [{"no-such": "yes"}, {"soot-seen": "perhaps"}])
def test_an_unknown_finding_or_outcome_is_refused(advice, compiled, evidence):
    with pytest.raises(ValueError, match="knows no finding"):
        advice.isolate(compiled, evidence, HERE)
