"""What the advice is worth: invented trucks, drawn at random, each taken to a repair by several ways.

The trucks are drawn from the fault model, from copies whose chances are shifted at random, and from copies
that lack links. Every way chooses among the checks that are worth their minutes, stops by the same rule and
repairs by the same decision; they differ in the order of the checks alone. Beside them stand the same checks
with all repairs of the plan at once, and perfect knowledge of what is there. What a repair cures and what a
proof sees is drawn once for each truck, so differences are between the same trucks; their 95 % intervals are
bootstrapped.

    python -m tests.bench.advice [--cases 60] [--seed 1] [--stop 0.5]
"""

import argparse
import math
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from pwa.build.build import CONTENT
from pwa.build.content import reader, schema
from pwa.build.model import compiler
from pwa.build.model.tree import Node
from pwa.engine.evidence import advice, case, truck
from pwa.engine.evidence.decide import COME_BACK, Stakes
from pwa.engine.evidence.value import Weighing

DRIVE = "electric"
LOST = 0.15  # share of the links that a model of another structure lacks
RESAMPLED = 2000
SHIFT = 0.7  # standard deviation of the shift of log odds in a perturbed model
MOST = 60  # checks after which a technician gives up
SIDES = {"control": 0, "mechanism": 1}  # what lies outside the VGT comes last
LAYBY, AT_ONCE, KNOWN = "Layby's advice", "the same, repairs all at once", "perfect knowledge"
World = dict[str, str]  # each variable's state, and under "" what its luck is drawn from
Pick = Callable[[list[dict[str, Any]], random.Random], str]


@dataclass
class Tally:
    """Minutes of checking, repairing and come-backs; whether it lasts, and the standing was right; beliefs
    and whether they were true.
    """

    checking: list[float] = field(default_factory=list)
    repairing: list[float] = field(default_factory=list)
    lost: list[float] = field(default_factory=list)
    lasting: list[bool] = field(default_factory=list)
    right: list[bool] = field(default_factory=list)
    believed: list[tuple[float, bool]] = field(default_factory=list)


class Bench:
    def __init__(self, seed: int) -> None:
        self.content = reader.load(CONTENT)
        self.model = compiler.compile(self.content)
        self.findings = {item.key: item for item in self.content.findings}
        self.causes = {item.key: item for item in self.content.causes if item.system != "effect"}
        self.stakes = Stakes(self.model, DRIVE)
        self.random = random.Random(seed)

    def world(self, shift: float, lost: float = 0.0) -> World:
        """One truck with the complaint and this drive."""
        causes, findings = self.content.causes, self.content.findings
        if shift:
            causes = [self._shifted(item, shift, ("chance",), ("because_of",)) for item in causes]
            findings = [self._shifted(item, shift, ("leak",), ("shown_by",)) for item in findings]
        if lost:
            causes = [self._cut(item, "because_of", lost) for item in causes]
            findings = [self._cut(item, "shown_by", lost) for item in findings]
        nodes = [node for node in compiler.network(causes, findings) if node.kind != "question"]
        while True:
            world = self._draw(nodes)
            if world["power-lost"] == "yes":
                return {**world, "": str(self.random.random())}

    def _cut(self, item: Any, table: str, lost: float) -> Any:
        links = getattr(item, table)
        kept = {key: links[key] for key in links if self.random.random() >= lost}
        return item.model_copy(update={table: kept or links})

    def _draw(self, nodes: Iterable[Node]) -> World:
        world: World = {}
        sizes = {}
        for node in nodes:
            sizes[node.name] = node.states
            row = 0
            for parent in node.parents:
                row = row * len(sizes[parent]) + sizes[parent].index(world[parent])
            chances = node.table[row * len(node.states) : (row + 1) * len(node.states)]
            world[node.name] = self.random.choices(node.states, chances)[0]
            cause = self.causes.get(node.name)
            if cause and DRIVE not in cause.drives:
                world[node.name] = "no"
        return world

    def _shifted(self, item: Any, shift: float, plain: tuple[str, ...], tables: tuple[str, ...]) -> Any:
        def moved(chance: float) -> float:
            if not 0 < chance < 1:
                return chance
            odds = math.log(chance / (1 - chance)) + self.random.gauss(0, shift)
            return 1 / (1 + math.exp(-odds))

        def all_moved(value: Any) -> Any:
            if isinstance(value, list):
                shifted = [moved(chance) for chance in value]
                return [chance * min(1, 0.98 / sum(shifted)) for chance in shifted]
            return moved(value)

        update = {name: all_moved(getattr(item, name)) for name in plain}
        update |= {name: {key: all_moved(v) for key, v in getattr(item, name).items()} for name in tables}
        return item.model_copy(update=update)

    def run(self, world: World, pick: Pick, tally: Tally, at_once: bool = False) -> None:
        answers: dict[str, Any] = {}
        opened: list[str] = []
        minutes = 0.0
        here = {"drive": DRIVE, "place": "bay", "opened": opened}
        for _ in range(MOST):
            found = advice.isolate(self.model, answers, here)
            options = found["checks"] + advice.only_closed(found["later"])
            options = [check for check in options if advice._is_worth_it(check)]
            if found["enough"] or not options:
                break
            options.sort(key=lambda check: -check["worth"])
            picked = pick(options, self.random)
            check = next(check for check in options if check["finding"] == picked)
            minutes += check["minutes"]  # what has to be taken off or put back for it included
            self._prepare(check["answers"][0], opened)
            answers |= {key: {"outcome": world[key], "opened": list(opened)} for key in check["answers"]}
        told = {key: said["outcome"] for key, said in answers.items()}
        found_places = advice._located(advice._findings(self.model), told)
        steps = [step["repairs"] for step in found["plan"]["steps"]]
        if at_once:
            steps = [[key for step in steps for key in step]]
        self._settle(world, steps, Stakes(self.model, DRIVE, None, found_places), minutes, tally)
        standing = found["standing"]
        tally.right.append(max(standing, key=lambda key: standing[key]) == self._truth(world))
        tally.believed += [(item["p"], world[item["cause"]] == "yes") for item in found["suspects"]]

    def know(self, world: World, tally: Tally) -> None:
        """As `run` by somebody who knows what is there and where, but not what a repair will cure."""
        there = {key: world[key] for key in self.causes}
        whole = advice._propagated(self.model, there, case.situation({"drive": DRIVE}), {})
        present = [key for key in there if there[key] == "yes"]
        stakes = Stakes(self.model, DRIVE, None, present)
        steps, _ = Weighing(stakes, whole, advice._chances(self.model, whole), []).best()
        self._settle(world, steps, stakes, 0.0, tally)
        tally.right.append(True)

    def _prepare(self, finding: str, opened: list[str]) -> None:
        """Takes off and puts back what a check wants."""
        openings = self.model["openings"]
        item = next(item for item in self.model["variables"] if item["name"] == finding)
        for step in truck.steps(item, opened, openings):
            if step.startswith(truck.BACK):
                opened.remove(step[len(truck.BACK) :])
            else:
                opened.append(step)

    def _settle(
        self, world: World, steps: list[list[str]], stakes: Stakes, minutes: float, tally: Tally
    ) -> None:
        """Repairs, proves and goes on; what is left costs its comeback, once, and its cure."""
        left = {key for key in self.causes if world[key] == "yes"}
        shows = {key: random.Random(f"{world['']} {key}").random() for key in left}
        repaired = 0.0
        for step in steps:
            repaired += stakes.minutes(step, stakes.found)
            for repair in step:
                cures = {
                    key: chance
                    for group, chance in stakes.cures[repair]
                    for key in stakes.groups[group]["causes"]
                }
                left = {
                    key
                    for key in left
                    if random.Random(f"{world['']} {key} {repair}").random() >= cures.get(key, 0.0)
                }
            if not any(shows[key] < self.causes[key].comes_back * self.causes[key].seen for key in left):
                break
        back = {key for key in left if shows[key] < self.causes[key].comes_back}
        cure = [
            stakes.cure[n] for n, group in enumerate(stakes.groups) for key in group["causes"] if key in back
        ]
        tally.checking.append(minutes)
        tally.repairing.append(repaired)
        tally.lost.append((COME_BACK if back else 0.0) + sum(cure))
        tally.lasting.append(not back)

    def _truth(self, world: World) -> str:
        there = {cause.system for key, cause in self.causes.items() if world[key] == "yes"}
        if "control" in there:
            return "both" if "mechanism" in there else "control"
        return "mechanism" if "mechanism" in there else "not-vgt"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--stop", type=float, default=advice.STOP, help="share of its minutes")
    options = parser.parse_args()
    advice.STOP = options.stop
    bench = Bench(options.seed)

    def fixed(checks: list[dict[str, Any]], _: random.Random) -> str:
        return min(checks, key=lambda check: _rank(bench, check["finding"]))["finding"]

    ways: dict[str, Pick] = {
        LAYBY: lambda checks, _: checks[0]["finding"],
        "control side, then mechanism": fixed,
        "cheapest first": lambda checks, _: min(checks, key=lambda c: (c["minutes"], c["finding"]))[
            "finding"
        ],
        "random": lambda checks, rng: rng.choice(checks)["finding"],
    }
    for name, shift, lost in (
        ("the model itself", 0.0, 0.0),
        (f"models shifted by {SHIFT}", SHIFT, 0.0),
        (f"models that lack {LOST:.0%} of the links", 0.0, LOST),
    ):
        worlds = [bench.world(shift, lost) for _ in range(options.cases)]
        tallies = {way: Tally() for way in [*ways, AT_ONCE, KNOWN]}
        for world in worlds:
            for way, pick in ways.items():
                bench.run(world, pick, tallies[way])
            bench.run(world, ways[LAYBY], tallies[AT_ONCE], at_once=True)
            bench.know(world, tallies[KNOWN])
        _table(name, tallies)
        _reliable(tallies[LAYBY].believed)


def _table(name: str, tallies: dict[str, Tally]) -> None:
    ours = _all(tallies[LAYBY])
    print(f"\n{len(ours)} trucks drawn from {name}")
    print(f"{'':<30}{'checking':>9}{'repair':>8}{'lost':>7}{'all':>7}{'lasting':>9}{'side right':>11}")
    for way, tally in tallies.items():
        parts = [sum(part) / len(part) for part in (tally.checking, tally.repairing, tally.lost)]
        shares = [sum(part) / len(part) for part in (tally.lasting, tally.right)]
        theirs = _all(tally)
        low, high = _interval([here - there for here, there in zip(ours, theirs, strict=True)])
        print(f"{way:<30}{parts[0]:>9.0f}{parts[1]:>8.0f}{parts[2]:>7.0f}{sum(parts):>7.0f}"
              f"{shares[0]:>9.0%}{shares[1]:>11.0%}  Layby {sum(ours) / sum(theirs):.2f},"
              f" difference {low:+.0f} to {high:+.0f}")  # fmt: skip


def _all(tally: Tally) -> list[float]:
    return [sum(parts) for parts in zip(tally.checking, tally.repairing, tally.lost, strict=True)]


def _interval(differences: list[float]) -> tuple[float, float]:
    """95 % of the means of resampled trucks."""
    draw, count = random.Random(0), len(differences)
    means = sorted(sum(draw.choices(differences, k=count)) / count for _ in range(RESAMPLED))
    return means[RESAMPLED // 40], means[-RESAMPLED // 40]


def _rank(bench: Bench, key: str) -> tuple[int, int, str]:
    """Codes and questions first, then by the side of the cause that shows it most, as in the content."""
    if key not in bench.findings:  # reading all codes
        return (0, 0, key)
    finding: schema.Finding = bench.findings[key]
    if finding.way in ("codes", "asked"):
        return (0, 0, key)
    top = max(finding.shown_by, key=lambda cause: sum(finding.shown_by[cause]), default="")
    cause = bench.causes.get(top)
    control = any(word in top for word in ("actuator", "power", "signal"))
    side = SIDES.get(cause.system, 2) if cause else 0 if control else 1
    return (1, side, key)


def _reliable(believed: list[tuple[float, bool]]) -> None:
    print("suspects believed at      count   there")
    for low, high in (
        (0, 0.02),
        (0.02, 0.05),
        (0.05, 0.1),
        (0.1, 0.2),
        (0.2, 0.4),
        (0.4, 0.6),
        (0.6, 0.8),
        (0.8, 1.01),
    ):
        here = [(p, there) for p, there in believed if low <= p < high]
        if here:
            mean, share = (sum(item[k] for item in here) / len(here) for k in (0, 1))
            print(f"  {mean:>6.1%} ({low:.0%} to {min(high, 1):.0%})  {len(here):>7}  {share:>6.1%}")


if __name__ == "__main__":
    main()
