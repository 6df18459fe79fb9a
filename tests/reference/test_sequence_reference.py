"""Sequences of repairs against every way that they can go, with pyAgrum's joint distribution of the causes.

Everything is drawn out: which causes are there, whether a proof would see each, whether it would bring the
truck back, and which step cures it. Then the steps are followed as a shop would.
"""

import itertools
import random

import pyagrum
import pytest

from pwa.build.model import compiler
from pwa.engine.evidence import advice
from pwa.engine.evidence.decide import COME_BACK, PROOF, Stakes
from tests.helpers.small_models import cause, check, compiled, complaint, repair

DEAR = (500, 700, 900, 1200)  # so that no group of causes has so little at stake that it is left out
SEEN, LATER, NEVER = "seen", "later", "never"


def some_model(seed, minutes=(30, 90, 300, 600)):
    """Four causes, one of which brings others about, five repairs that may fail, and four checks."""
    draw = random.Random(seed)
    repairs = [repair(f"r{n}", draw.choice(minutes), search=draw.choice([0, 60, 200])) for n in range(5)]
    causes = []
    for n in range(4):
        cures = {f"r{k}": round(draw.uniform(0.3, 0.98), 3) for k in draw.sample(range(5), 2)}
        because = {"c0": draw.uniform(0.2, 0.6)} if n > 1 else {}
        fields = {"because_of": because, "seen": draw.uniform(0.1, 1)}
        causes.append(cause(f"c{n}", draw.uniform(0.01, 0.1), cures, draw.uniform(0.3, 0.95), **fields))
    checks = []
    for n in range(4):
        seen = draw.sample([item.key for item in causes], 2)
        shown = {key: [draw.uniform(0.5, 0.95)] for key in seen}
        places = {"yes": [seen[0]]} if n % 2 else {}
        checks.append(check(f"f{n}", 5, shown, draw.uniform(0.02, 0.15), locates=places))
    return causes, checks, repairs, compiled(causes, checks, repairs, leak=0.01)


def joint(causes, checks, evidence):
    """pyAgrum's probability of each set of causes together with the evidence."""
    net = pyagrum.BayesNet()
    nodes = compiler.network(causes, [complaint(causes, 0.01), *checks])
    states = {node.name: node.states for node in nodes}
    for node in nodes:
        net.add(pyagrum.LabelizedVariable(node.name, node.name, list(node.states)))
        for parent in node.parents:
            net.addArc(parent, node.name)
    for node in nodes:
        for row, given in enumerate(itertools.product(*(states[parent] for parent in node.parents))):
            chances = list(node.table[row * len(node.states) :][: len(node.states)])
            net.cpt(node.name)[dict(zip(node.parents, given, strict=True))] = chances
    found = {}
    for there in itertools.product((False, True), repeat=len(causes)):
        world = {item.key: "yes" if on else "no" for item, on in zip(causes, there, strict=True)}
        oracle = pyagrum.LazyPropagation(net)
        oracle.setEvidence({"power-lost": "yes", **evidence, **world})
        found[there] = oracle.evidenceProbability()
    return found


def fates(item, steps):
    """Of a cause that is there: how it shows, the step that would cure it (None: none), and how probable."""
    kinds = {
        SEEN: item.comes_back * item.seen,
        LATER: item.comes_back * (1 - item.seen),
        NEVER: 1 - item.comes_back,
    }
    still = 1.0
    for number, step in enumerate(steps):
        fails = 1.0
        for key in step:
            fails *= 1 - item.put_right.get(key, 0)
        for kind, chance in kinds.items():
            yield kind, number, chance * still * (1 - fails)
        still *= fails
    for kind, chance in kinds.items():
        yield kind, None, chance * still


def followed(causes, steps, worlds, stakes, found):
    """Expected cost, the chance of each step, of a fault seen at the end, and of a come-back."""
    cost = unsolved = back = 0.0
    made = [0.0] * len(steps)
    for there, weight in worlds.items():
        present = [item for item, on in zip(causes, there, strict=True) if on]
        for drawn in itertools.product(*(list(fates(item, steps)) for item in present)):
            p = weight
            for _, _, chance in drawn:
                p *= chance
            done = 0
            for number in range(len(steps)):
                made[number] += p
                cost += p * stakes.minutes(steps[number], found)
                done = number + 1
                if not any(kind == SEEN and (at is None or at > number) for kind, at, _ in drawn):
                    break
            left = {kind for kind, at, _ in drawn if at is None or at >= done}
            if SEEN in left:
                unsolved += p
            elif LATER in left:
                back += p
            if left & {SEEN, LATER}:
                cost += p * COME_BACK
            for item, (kind, at, _) in zip(present, drawn, strict=True):
                outlasts = at is None if kind == SEEN else at != 0
                if kind != NEVER and outlasts:
                    cost += p * min(stakes.cost[key] for key in item.put_right)
    return cost, made, unsolved, back


@pytest.mark.parametrize("seed", range(6))
def test_the_plan_costs_and_leaves_what_following_it_does(twin, seed):
    causes, checks, _, model = some_model(seed)
    evidence = {"f0": "yes", "f1": "yes"}
    plan = twin("pwa.engine.evidence.advice").isolate(model, evidence, {})["plan"]
    stakes = Stakes(model, "electric", None, checks[1].locates["yes"])
    worlds = joint(causes, checks, evidence)
    total = sum(worlds.values())
    steps = [step["repairs"] for step in plan["steps"]]
    cost, made, unsolved, back = followed(causes, steps, worlds, stakes, stakes.found)
    assert plan["expected"] == pytest.approx(cost / total, rel=1e-9)
    assert [step["needed"] for step in plan["steps"]] == pytest.approx([p / total for p in made], abs=1e-9)
    assert plan["unsolved"] == pytest.approx(unsolved / total, abs=1e-9)
    assert plan["comes_back"] == pytest.approx(back / total, abs=1e-9)
    assert [step["cost"] for step in plan["steps"]] == [stakes.minutes(step, stakes.found) for step in steps]
    assert all(step["cost"] >= PROOF for step in plan["steps"])


@pytest.mark.parametrize("seed", range(6))
def test_what_a_check_saves_is_the_exact_value_of_its_outcome(twin, seed):
    """Least cost now, less the least cost after each outcome, over the sequences that are weighed."""
    causes, checks, _, model = some_model(seed, DEAR)
    found = twin("pwa.engine.evidence.advice").isolate(model, {"f0": "yes"}, {})
    stakes = Stakes(model, "electric")
    plans = stakes.candidates(found["chances"])
    now = joint(causes, checks, {"f0": "yes"})
    total = sum(now.values())
    least = min(followed(causes, steps, now, stakes, [])[0] for steps in plans) / total
    assert found["plan"]["expected"] == pytest.approx(least, rel=1e-9)
    for item in (checks[1], checks[2]):
        later = 0.0
        for outcome in ("no", "yes"):
            worlds = joint(causes, checks, {"f0": "yes", item.key: outcome})
            places = stakes.places(item.locates.get(outcome, []))
            later += min(followed(causes, steps, worlds, stakes, places)[0] for steps in plans) / total
        said = next(check for check in found["checks"] if check["finding"] == item.key)
        assert said["saves"] == pytest.approx(max(least - later, 0.0), abs=0.011)


def test_hardly_any_other_sequence_of_two_steps_costs_less():
    ratios = []
    for seed in range(10):
        causes, checks, repairs, model = some_model(seed)
        plan = advice.isolate(model, {"f0": "yes"}, {})["plan"]
        stakes = Stakes(model, "electric")
        worlds = joint(causes, checks, {"f0": "yes"})
        keys = [item.key for item in repairs]
        ones = [[key] for key in keys] + [list(pair) for pair in itertools.combinations(keys, 2)]
        every = [[]] + [[one] for one in ones]
        every += [[one, [key]] for one in ones for key in keys if key not in one]
        best = min(followed(causes, steps, worlds, stakes, [])[0] for steps in every)
        ratios.append(plan["expected"] * sum(worlds.values()) / best)
    assert min(ratios) >= 1 - 1e-9
    assert max(ratios) <= 1.12
    assert sum(ratios) / len(ratios) <= 1.03
