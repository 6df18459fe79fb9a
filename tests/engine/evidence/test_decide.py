"""The repair decision and the worth of checks, against policies worked out by trying everything."""

import random
from itertools import permutations

import pytest

from pwa.engine.evidence import advice, case
from pwa.engine.evidence.decide import COME_BACK, PROOF
from pwa.engine.evidence.network import posteriors
from tests.helpers.small_models import cause, check, compiled, repair


def first(found):
    """The repairs of the first step."""
    return found["plan"]["steps"][0]["repairs"]


@pytest.fixture(scope="module")
def ours(twin):
    return twin("pwa.engine.evidence.advice")


def chances(model, evidence, finding):
    """P(outcome | evidence) by the engine's own marginals, which other tests hold against other libraries."""
    given = case.given(model, "electric")
    return posteriors(model, {**given, **evidence})["marginals"][finding]


def best_policy(model, evidence, checks):
    """Least expected minutes of any policy: stop and repair, or make one of the checks that are left."""
    costs = [advice.isolate(model, evidence, {})["plan"]["expected"]]
    for item in checks:
        left = [other for other in checks if other is not item]
        share = chances(model, evidence, item.key)
        costs.append(
            item.minutes
            + sum(
                p * best_policy(model, {**evidence, item.key: outcome.key}, left)
                for p, outcome in zip(share, item.outcomes, strict=True)
            )
        )
    return min(costs)


def our_policy(model, evidence, checks):
    """Expected minutes of doing as advised."""
    found = advice.isolate(model, evidence, {})
    if found["enough"]:
        return found["plan"]["expected"]
    item = next(item for item in checks if item.key == found["checks"][0]["finding"])
    left = [other for other in checks if other is not item]
    return item.minutes + sum(
        p * our_policy(model, {**evidence, item.key: outcome.key}, left)
        for p, outcome in zip(chances(model, evidence, item.key), item.outcomes, strict=True)
    )


def some_model(seed):
    """Four causes in three groups of repairs, and four checks that see one or two of them, none surely."""
    draw = random.Random(seed)
    repairs = [repair(f"r{n}", draw.choice([30, 90, 300, 600])) for n in range(3)]
    causes = [
        cause(f"c{n}", draw.uniform(0.01, 0.1), [f"r{n % 3}"], draw.uniform(0.5, 0.95)) for n in range(4)
    ]
    checks = []
    for n in range(4):
        seen = draw.sample([item.key for item in causes], draw.choice([1, 2]))
        shown = {key: [draw.uniform(0.5, 0.95)] for key in seen}
        checks.append(check(f"f{n}", draw.choice([2, 8, 20, 60]), shown, draw.uniform(0.02, 0.15)))
    return compiled(causes, checks, repairs, leak=0.01), checks


def test_the_advice_costs_hardly_more_than_the_best_of_all_policies():
    ratios = []
    for seed in range(16):
        model, checks = some_model(seed)
        ratios.append(our_policy(model, {}, checks) / best_policy(model, {}, checks))
    assert max(ratios) <= 1.17
    assert sum(ratios) / len(ratios) <= 1.04


def single_fault(seed):
    """One of five faults, each with its own perfect check; repairs so dear that none is made on suspicion."""
    draw = random.Random(seed)
    weights = [draw.uniform(0.5, 2) for _ in range(5)]
    causes = [cause(f"c{n}", 1e-6 * weights[n], [f"r{n}"], 0.999) for n in range(5)]
    checks = [check(f"f{n}", draw.uniform(2, 60), {f"c{n}": [0.999999]}, 1e-9) for n in range(5)]
    return compiled(causes, checks, [repair(f"r{n}", 100_000) for n in range(5)]), checks, weights


@pytest.mark.parametrize("seed", range(8))
def test_with_one_fault_and_perfect_checks_the_order_is_by_chance_over_cost(ours, seed):
    """Kadane and Simon 1977; Heckerman, Breese and Rommelse 1995, section 3: p/c order is optimal."""
    model, checks, weights = single_fault(seed)
    by_ratio = sorted(range(5), key=lambda n: -weights[n] / checks[n].minutes)
    prices = {"rate": 60.0, "minutes": {}, "parts": {}, "come_back": 90_000.0}
    found = ours.isolate(model, {}, {"prices": prices})["checks"]
    assert [item["finding"] for item in found] == [f"f{n}" for n in by_ratio]

    def expected(order):
        done, total = 0.0, 0.0
        for n in order:
            done += checks[n].minutes
            total += weights[n] * done
        return total

    assert expected(by_ratio) == pytest.approx(min(expected(order) for order in permutations(range(5))))


def test_the_plan_is_the_cheapest_of_all_sets_of_repairs(ours):
    """Two causes share a repair that costs less than their own two together."""
    repairs = [repair("one", 300), repair("two", 300), repair("both", 450)]
    causes = [cause("a", 0.02, ["one", "both"]), cause("b", 0.02, ["two", "both"])]
    checks = [check("fa", 5, {"a": [0.95]}, 0.01), check("fb", 5, {"b": [0.95]}, 0.01)]
    model = compiled(causes, checks, repairs)
    assert first(ours.isolate(model, {"fa": "yes", "fb": "yes"}, {})) == ["both"]
    assert first(ours.isolate(model, {"fa": "yes", "fb": "no"}, {})) == ["one"]


def test_the_shops_own_prices_change_the_plan_and_the_worth(ours):
    repairs = [repair("one", 300), repair("two", 300), repair("both", 450)]
    causes = [cause("a", 0.02, ["one", "both"]), cause("b", 0.02, ["two", "both"])]
    model = compiled(causes, [check("fa", 5, {"a": [0.95]}, 0.01)], repairs)
    dear = {"rate": 100.0, "minutes": {}, "parts": {"both": 2000.0}, "come_back": 0.0}
    plan = ours.isolate(model, {"fa": "yes"}, {"prices": dear})["plan"]
    assert plan["steps"][0]["repairs"] == ["one"]
    assert plan["steps"][0]["cost"] == 300 + PROOF
    cheap = {"rate": 0.0, "minutes": {"both": 60.0}, "parts": {}, "come_back": 0.0}
    assert first(ours.isolate(model, {"fa": "yes"}, {"prices": cheap})) == ["both"]


def test_what_the_shop_does_not_make_is_in_no_plan(ours):
    repairs = [repair("clean", 300), repair("replace", 900)]
    causes = [cause("a", 0.02, {"clean": 0.9, "replace": 0.99})]
    model = compiled(causes, [check("fa", 5, {"a": [0.95]}, 0.01)], repairs)
    assert first(ours.isolate(model, {"fa": "yes"}, {})) == ["clean"]
    prices = {"rate": 0.0, "minutes": {}, "parts": {}, "come_back": 0.0, "off": ["clean"]}
    found = ours.isolate(model, {"fa": "yes"}, {"prices": prices})
    assert first(found) == ["replace"]
    assert "clean" not in found["plan"]["repairs"]
    _, options = ours.options(model, {"fa": "yes"}, {"prices": prices})
    assert [item["repair"] for item in options] == ["replace"]


def test_a_fault_that_is_not_located_costs_its_search(ours):
    """The check that finds the place spares the search, though it changes nothing of what is suspected."""
    causes = [cause("wire", 0.05, ["mend"])]
    checks = [
        check("tells", 5, {"wire": [0.95]}, 0.01),
        check("shows", 5, {"wire": [0.95]}, 0.01, locates={"yes": ["wire"]}),
    ]
    model = compiled(causes, checks, [repair("mend", 100, search=240)])
    found = ours.isolate(model, {"tells": "yes"}, {})
    assert found["plan"]["steps"][0]["search"] == 240
    assert found["plan"]["steps"][0]["cost"] == 100 + 240 + PROOF
    shows = next(item for item in found["checks"] if item["finding"] == "shows")
    assert shows["saves"] > 200
    located = ours.isolate(model, {"shows": "yes"}, {})["plan"]["steps"][0]
    assert (located["search"], located["cost"]) == (0, 100 + PROOF)


def test_a_repair_that_fails_is_followed_by_another(ours):
    """Cleaning is tried first; only trucks that the proof still sees a fault on go on to the new part."""
    causes = [cause("stuck", 0.05, {"clean": 0.7, "replace": 0.99}, seen=1.0)]
    model = compiled(causes, [], [repair("clean", 300), repair("replace", 800)])
    plan = ours.isolate(model, {}, {})["plan"]
    assert [step["repairs"] for step in plan["steps"]] == [["clean"], ["replace"]]
    assert plan["steps"][1]["needed"] == pytest.approx(0.3 * 0.9, rel=1e-6)
    assert plan["cost"] == pytest.approx(300 + PROOF + 0.27 * (800 + PROOF), rel=1e-6)
    assert plan["unsolved"] == pytest.approx(0.27 * 0.01, rel=1e-6)
    assert plan["comes_back"] == pytest.approx(0, abs=1e-9)


def test_below_an_even_chance_it_is_no_advice(ours):
    causes = [cause(f"c{n}", 0.01 + 0.001 * n, [f"r{n}"]) for n in range(6)]
    checks = [check(f"f{n}", 5, {f"c{n}": [0.95]}, 0.01) for n in range(6)]
    model = compiled(causes, checks, [repair(f"r{n}", 400) for n in range(6)])
    assert not ours.isolate(model, {}, {})["plan"]["confident"]
    assert ours.isolate(model, {"f1": "yes"}, {})["plan"]["confident"]


def test_a_group_that_is_left_costs_its_come_back_and_its_repair(ours):
    """One cause, known to be there: left, it costs (20 h + its repair) times the chance to come back."""
    model = compiled(
        [cause("a", 0.02, ["one"], 0.3)], [check("f", 5, {"a": [0.9]}, 0.01)], [repair("one", 6000)]
    )
    plan = ours.isolate(model, {}, {})["plan"]
    assert plan["repairs"] == []
    assert plan["expected"] == pytest.approx(0.3 * (COME_BACK + 6000), rel=1e-6)
    assert plan["unsolved"] + plan["comes_back"] == pytest.approx(0.3, rel=1e-6)


def test_checks_behind_one_opening_share_its_minutes(ours):
    """Two checks behind an opening are each worth more a minute than one of them alone."""
    causes = [cause("a", 0.02, ["one"]), cause("b", 0.02, ["two"])]
    repairs = [repair("one", 300), repair("two", 300)]
    both = [check(f"f{key}", 5, {key: [0.95]}, 0.01, opens=["rod"]) for key in ("a", "b")]
    alone = [both[0], check("fb", 5, {"b": [0.95]}, 0.01)]
    worth = {}
    for name, checks in (("both", both), ("alone", alone)):
        found = ours.isolate(compiled(causes, checks, repairs), {}, {})["checks"]
        worth[name] = next(item for item in found if item["finding"] == "fa")
    assert worth["both"]["worth"] > 1.3 * worth["alone"]["worth"]
    assert worth["both"]["minutes"] == worth["alone"]["minutes"] == 5 + 10 + 3  # rod, and hood before it
    opened = ours.isolate(compiled(causes, both, repairs), {}, {"opened": ["rod"]})["checks"]
    assert [item["minutes"] for item in opened] == [5, 5]


def test_it_is_enough_once_no_check_is_worth_its_minutes(ours):
    model = compiled([cause("a", 0.02, ["one"])], [check("f", 500, {"a": [0.9]}, 0.05)], [repair("one", 60)])
    assert ours.isolate(model, {}, {})["enough"] is True
    found = ours.isolate(model, {}, {})
    assert first(found) == ["one"]
    assert found["checks"][0]["saves"] < found["checks"][0]["minutes"]


def test_it_says_which_outcome_would_change_the_plan(ours):
    causes = [cause("a", 0.03, ["one"]), cause("b", 0.01, ["two"])]
    repairs = [repair("one", 200), repair("two", 900)]
    model = compiled(causes, [check("f", 5, {"b": [0.95]}, 0.01)], repairs)
    found = ours.isolate(model, {}, {})
    assert first(found) == ["one"]
    change = next(item for item in found["checks"][0]["changes"] if item["outcome"] == "yes")
    assert change["more"] == ["two"]
    assert change["less"] == ["one"]


def test_each_repair_alone_says_what_it_cures_and_what_comes_back(ours):
    causes = [
        cause("dirt", 0.05, ["upstream"], 0.5, system="fuel", upstream=True),
        cause("stuck", 0.01, ["clean"], 0.9, because_of={"dirt": 0.8}),
    ]
    repairs = [repair("clean", 400).model_copy(update={"upstream": ["dirt"]}), repair("upstream", 100)]
    model = compiled(causes, [check("f", 5, {"stuck": [0.95]}, 0.01)], repairs)
    plan, options = ours.options(model, {"f": "yes"}, {})
    clean = next(item for item in options if item["repair"] == "clean")
    assert clean["cures"] > 0.9
    assert clean["with_upstream"] < 0.01 < clean["comes_back"]
    assert [item["cause"] for item in clean["assumes"]] == ["dirt"]
    assert set(plan["repairs"]) == {"clean", "upstream"}
