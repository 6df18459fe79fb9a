"""Which order of causes keeps the phone's tables smallest: `python -m pwa.build.model.order [--write]`.

An effect or finding with more causes than one table takes has helper tables, filled in the order in which the
content names the causes. Causes that stand close to each other in the network should share a helper, so the
order alone can change the size of the whole by a third. This tries other orders at random and says what to
write; with `--write` it sorts the lines in content/ itself.
"""

import argparse
import random
from pathlib import Path
from typing import Any

from pwa.build.content import reader, schema
from pwa.build.model import compiler, noisy, tree

CONTENT = Path(__file__).parents[3] / "content"
ROUNDS = 300
SHUFFLED = 0.3  # share of the rounds that shuffle all causes of one effect
Order = dict[str, list[str]]  # effect or finding -> its causes


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true", help="sort the lines in content/ accordingly")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    options = parser.parse_args()
    loaded = reader.load(CONTENT)
    before = long(loaded)
    after, sizes = best(loaded, options.rounds)
    print(f"entries in all tables: {sizes[0]} as written, {sizes[1]} at best")
    for name, causes in after.items():
        if causes != before[name]:
            print(f"{name}: {', '.join(causes)}")
            if options.write:
                _write(_file(loaded, name), causes)


def best(content: schema.Content, rounds: int = ROUNDS, seed: int = 1) -> tuple[Order, tuple[int, int]]:
    """The best order found, and the sizes before and after; equal ones are taken too, they lead further."""
    draw, order = random.Random(seed), long(content)
    first = size = entries(content, order)
    for _ in range(rounds):
        name = draw.choice(list(order))
        tried = {**order, name: _changed(order[name], draw)}
        found = entries(content, tried)
        if found <= size:
            order, size = tried, found
    return order, (first, size)


def entries(content: schema.Content, order: Order) -> int:
    """Entries of all the tables that the phone keeps, with the causes in this order."""
    causes = [
        cause.model_copy(update={"because_of": _sorted(cause.because_of, order.get(cause.key))})
        for cause in content.causes
    ]
    findings = [
        finding.model_copy(update={"shown_by": _sorted(finding.shown_by, order.get(finding.key))})
        for finding in content.findings
    ]
    return tree.entries(compiler.network(causes, findings, questions=False))


def long(content: schema.Content) -> Order:
    """The effects and findings whose causes do not fit one table, in the order of the content."""
    all_of_them: Order = {cause.key: list(cause.because_of) for cause in content.causes}
    all_of_them.update({finding.key: list(finding.shown_by) for finding in content.findings})
    return {name: causes for name, causes in sorted(all_of_them.items()) if len(causes) > noisy.MOST}


def _changed(causes: list[str], draw: random.Random) -> list[str]:
    """One cause moved; now and then all of them, to get away from where no single move helps."""
    changed = list(causes)
    if draw.random() < SHUFFLED:
        draw.shuffle(changed)
    else:
        moved = changed.pop(draw.randrange(len(changed)))
        changed.insert(draw.randrange(len(causes)), moved)
    return changed


def _sorted(chances: dict[str, Any], order: list[str] | None) -> dict[str, Any]:
    return chances if order is None else {cause: chances[cause] for cause in order}


def _file(content: schema.Content, name: str) -> Path:
    folder = "causes" if name in [cause.key for cause in content.causes] else "findings"
    return CONTENT / "model" / folder / f"{name}.yaml"


def _write(path: Path, causes: list[str]) -> None:
    """Sorts the lines that name the causes; each stands on a line of its own."""
    lines = path.read_text("utf-8").splitlines()
    places = [
        n for n, line in enumerate(lines) if line.strip().partition(":")[0] in causes and line[0] == " "
    ]
    named = {lines[n].strip().partition(":")[0]: lines[n] for n in places}
    for n, cause in zip(places, causes, strict=True):
        lines[n] = named[cause]
    path.write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main()
