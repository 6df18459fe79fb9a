"""The repair decision and the worth of checks, against policies worked out by trying everything."""

import random
from itertools import permutations

import pytest

from pwa.engine.evidence import advice, case
from pwa.engine.evidence.decide import COME_BACK
from pwa.engine.evidence.network import posteriors
from tests.helpers.small_models import cause, check, compiled, repair


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
    return compiled(causes, checks, repairs, complaint=0.01), checks


@pytest.mark.parametrize("seed", range(16))
def test_the_advice_costs_at_most_a_tenth_more_than_the_best_of_all_policies(seed):
    model, checks = some_model(seed)
    assert our_policy(model, {}, checks) <= 1.10 * best_policy(model, {}, checks)


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
    assert ours.isolate(model, {"fa": "yes", "fb": "yes"}, {})["plan"]["repairs"] == ["both"]
    assert ours.isolate(model, {"fa": "yes", "fb": "no"}, {})["plan"]["repairs"] == ["one"]


def test_the_shops_own_prices_change_the_plan_and_the_worth(ours):
    repairs = [repair("one", 300), repair("two", 300), repair("both", 450)]
    causes = [cause("a", 0.02, ["one", "both"]), cause("b", 0.02, ["two", "both"])]
    model = compiled(causes, [check("fa", 5, {"a": [0.95]}, 0.01)], repairs)
    dear = {"rate": 100.0, "minutes": {}, "parts": {"both": 2000.0}, "come_back": 0.0}
    plan = ours.isolate(model, {"fa": "yes"}, {"prices": dear})["plan"]
    assert plan["repairs"] == ["one"]
    assert plan["cost"] == 300
    cheap = {"rate": 0.0, "minutes": {"both": 60.0}, "parts": {}, "come_back": 0.0}
    assert ours.isolate(model, {"fa": "yes"}, {"prices": cheap})["plan"]["repairs"] == ["both"]


def test_a_group_that_is_left_costs_its_come_back_and_its_repair(ours):
    """One cause, known to be there: left, it costs (20 h + its repair) times the chance to come back."""
    model = compiled(
        [cause("a", 0.02, ["one"], 0.3)], [check("f", 5, {"a": [0.9]}, 0.01)], [repair("one", 6000)]
    )
    plan = ours.isolate(model, {}, {})["plan"]
    assert plan["repairs"] == []
    assert plan["expected"] == pytest.approx(0.3 * (COME_BACK + 6000), rel=1e-6)
    assert plan["comes_back"] == pytest.approx(0.3, rel=1e-6)


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
    assert found["plan"]["repairs"] == ["one"]
    assert found["checks"][0]["saves"] < found["checks"][0]["minutes"]


def test_it_says_which_outcome_would_change_the_plan(ours):
    causes = [cause("a", 0.03, ["one"]), cause("b", 0.01, ["two"])]
    repairs = [repair("one", 200), repair("two", 900)]
    model = compiled(causes, [check("f", 5, {"b": [0.95]}, 0.01)], repairs)
    found = ours.isolate(model, {}, {})
    assert found["plan"]["repairs"] == ["one"]
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
