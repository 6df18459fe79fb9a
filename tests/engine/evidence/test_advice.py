"""What the evidence says and what to check next, on both interpreters."""

import json
from pathlib import Path

import pytest

from pwa.build.content import reader
from pwa.build.model import compiler

CONTENT = Path(__file__).parents[3] / "content"
HERE = {"drive": "electric", "place": "bay"}


@pytest.fixture(scope="module")
def advice(twin):
    return twin("pwa.engine.evidence.advice")


@pytest.fixture(scope="module")
def compiled():
    return json.loads(json.dumps(compiler.compile(reader.load(CONTENT))))


def test_the_four_standings_add_up_to_one(advice, compiled):
    found = advice.isolate(compiled, {"supply-drop": "high", "soot-seen": "yes"}, HERE)
    assert sum(found["standing"].values()) == pytest.approx(1)


def test_a_dropped_supply_speaks_for_the_control_side_and_stuck_vanes_for_the_mechanism(advice, compiled):
    wiring = advice.isolate(compiled, {"supply-drop": "high", "hand-sweep": "smooth"}, HERE)["standing"]
    vanes = advice.isolate(compiled, {"supply-drop": "ok", "hand-sweep": "stops-short"}, HERE)["standing"]
    assert wiring["control"] > wiring["mechanism"]
    assert vanes["mechanism"] > vanes["control"]


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
    """With a charge leak heard, nobody looks for what makes soot; with stuck, sooted vanes that pays.

    One such check alone changes no repair, so what it promises counts, by which checks are ranked.
    """
    upstream = {"oil-use", "coolant-loss", "code-egr", "egr-moves", "injector-balance", "soot-load"}
    leak = {"code-boost-low": "yes", "boost-leak-heard": "yes", "code-mechanical": "no"}
    soot = {"hand-sweep": "stops-short", "soot-seen": "yes", "supply-drop": "ok"}
    promises = {}
    for name, evidence in (("leak", leak), ("soot", soot)):
        checks = advice.isolate(compiled, evidence, HERE)["checks"]
        promises[name] = sum(check["promises"] for check in checks if check["finding"] in upstream)
    assert promises["soot"] > 3 * promises["leak"]


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
    bay = advice.isolate(compiled, {}, {**roadside, "place": "bay"})["checks"]
    assert "air-at-actuator" in {check["finding"] for check in bay}
    assert "air-at-actuator" not in offered
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
    assert any("speaks for Vanes stick" in check["why"] for check in checks[:4])
    assert all(check["why"] for check in checks[:8])


def test_each_answer_has_a_reason_that_points_its_way(advice, compiled):
    reasons = advice.isolate(compiled, {"supply-drop": "high", "hand-sweep": "stops-short"}, HERE)["reasons"]
    moves = {reason["finding"]: reason["moves"] for reason in reasons}
    assert moves["supply-drop"]["control"] > 0.5
    assert moves["hand-sweep"]["mechanism"] > 0.5


def test_answers_that_do_not_fit_together_are_pointed_out(advice, compiled):
    together = {"soot-seen": "yes", "hand-sweep": "stops-short", "code-mechanical": "yes"}
    assert advice.isolate(compiled, together, HERE)["conflict"] == ""
    apart = {"actuator-off-turbo": "yes", "actuator-current": "none", "code-mechanical": "yes"}
    assert "Actuator run off the turbo" in advice.isolate(compiled, apart, HERE)["conflict"]


@pytest.mark.parametrize("evidence", [{"no-such": "yes"}, {"soot-seen": "perhaps"}])
def test_an_unknown_finding_or_outcome_is_refused(advice, compiled, evidence):
    with pytest.raises(ValueError, match="knows no finding"):
        advice.isolate(compiled, evidence, HERE)


BELIEVED = ({"oil-change-better": "yes"}, {"clean-tailpipe": "yes"}, {"clean-tailpipe": "no"})


@pytest.mark.parametrize("believed", BELIEVED)
def test_what_is_believed_but_is_no_evidence_moves_nothing(advice, compiled, believed):
    """Common practice, no source: better after an oil change, a clean pipe behind a particulate filter."""
    evidence = {"code-mechanical": "yes"}
    before = advice.isolate(compiled, evidence, HERE)
    after = advice.isolate(compiled, {**evidence, **believed}, HERE)
    assert after["standing"] == before["standing"]
    assert after["suspects"] == before["suspects"]
    assert after["uncounted"] == list(believed)


def test_vanes_free_with_the_housing_off_do_not_clear_the_assembled_turbo(advice, compiled):
    stuck = {"hand-sweep": {"outcome": "stops-short", "state": "assembled"}, "supply-drop": "ok"}
    apart = {**HERE, "state": "turbine housing off"}
    before = advice.isolate(compiled, stuck, apart)["standing"]["mechanism"]
    free = advice.isolate(compiled, {**stuck, "vanes-free-open": "free"}, apart)["standing"]["mechanism"]
    assert free == pytest.approx(before, abs=0.03)
    smooth = {**stuck, "hand-sweep": {"outcome": "smooth", "state": "turbine housing off"}}
    found = advice.isolate(compiled, smooth, apart)
    assert found["uncounted"] == ["hand-sweep"]


def test_what_was_seen_assembled_still_counts_once_the_housing_is_off(advice, compiled):
    seen = {"hand-sweep": {"outcome": "stops-short", "state": "assembled"}}
    whole = advice.isolate(compiled, seen, HERE)["standing"]
    assert advice.isolate(compiled, seen, {**HERE, "state": "turbine housing off"})["standing"] == whole


def test_what_is_asked_or_read_counts_in_every_state(advice, compiled):
    told = {"coolant-loss": "yes", "code-mechanical": "yes", "idle-share": "yes"}
    apart = {**HERE, "state": "turbine housing off"}
    assert advice.isolate(compiled, told, apart)["uncounted"] == []


def test_with_the_housing_off_what_can_be_seen_then_is_offered(advice, compiled):
    apart = advice.isolate(compiled, {"hand-sweep": "stops-short"}, {**HERE, "state": "turbine housing off"})
    offered = {check["finding"] for check in apart["checks"]}
    assert {"vanes-look", "plate-look", "ring-look"} <= offered
    whole = advice.isolate(compiled, {}, HERE)
    assert "vanes-look" not in {check["finding"] for check in whole["checks"] + whole["later"]}


def test_a_lever_coupled_says_less_than_with_the_rod_off(advice, compiled):
    moves = {}
    for finding, outcome in (("lever-coupled", "hard"), ("hand-sweep", "stops-short")):
        reasons = advice.isolate(compiled, {finding: outcome}, HERE)["reasons"]
        moves[finding] = reasons[0]["moves"]["mechanism"]
    assert 0 < moves["lever-coupled"] < 0.5 * moves["hand-sweep"]


def test_a_check_without_its_tool_or_heat_comes_later_and_says_what_it_needs(advice, compiled):
    evidence = {"code-mechanical": "yes"}
    here = {**HERE, "heat": "hot", "without": ["multimeter"]}
    found = advice.isolate(compiled, evidence, here)
    needs = {check["finding"]: check["needs"] for check in found["later"]}
    assert needs["hand-sweep"] == ["a cold engine", "multimeter"]
    assert all("multimeter" not in check["tools"] for check in found["checks"])


def test_a_reading_near_its_limit_moves_less_than_one_beyond_it(advice, compiled):
    """Pearl 1988, virtual evidence: between the two sure answers."""
    odds = {}
    for name, said in (
        ("ok", "ok"),
        ("near", {"outcome": "high", "weights": {"ok": 0.5, "high": 0.5}}),
        ("mostly", {"outcome": "high", "weights": {"ok": 0.2, "high": 0.8}}),
        ("high", "high"),
    ):
        standing = advice.isolate(compiled, {"supply-drop": said}, HERE)["standing"]
        odds[name] = standing["control"] + standing["both"]
    nothing = advice.isolate(compiled, {}, HERE)["standing"]
    assert odds["ok"] < odds["near"] < odds["mostly"] < odds["high"]
    assert odds["near"] == pytest.approx(nothing["control"] + nothing["both"], abs=1e-9)


def test_two_answers_that_pull_apart_are_named_together(advice, compiled):
    apart = {"actuator-off-turbo": "yes", "actuator-current": "none", "code-mechanical": "yes"}
    conflict = advice.isolate(compiled, apart, HERE)["conflict"]
    assert "Actuator run off the turbo: Full cycle" in conflict
    assert "Current of the actuator: None" in conflict
    assert conflict.endswith("do not fit together: check one of them again.")


def test_all_answers_given_the_normal_way_leave_little_to_check(advice, compiled):
    normal = {
        item["name"]: item["states"][0]
        for item in compiled["variables"]
        if item["kind"] == "finding" and item["way"] in ("codes", "asked", "measured") and not item["given"]
    }
    found = advice.isolate(compiled, normal, HERE)
    assert sum(found["standing"].values()) == pytest.approx(1)
    assert all(check["saves"] >= 0 for check in found["checks"])
