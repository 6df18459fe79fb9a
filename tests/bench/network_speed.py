"""The advice beside general libraries for Bayesian networks: `python -m tests.bench.network_speed`.

All three answer the same case on the same network in one run: every suspect and the standing, and for the
libraries what a ranking of all checks needs at least, the outcomes' chances with and without each group of
causes that is worth a repair. Ratios only; nothing is judged.
"""

import logging
import tempfile
import time
import warnings
from collections.abc import Callable
from typing import Any

import pyagrum
from pgmpy.inference import VariableElimination
from pgmpy.readwrite import BIFReader

from pwa.build.build import CONTENT
from pwa.build.content import reader
from pwa.build.model import bif, compiler
from pwa.engine.evidence import advice, case
from pwa.engine.evidence.decide import Stakes

CASE = {"code-mechanical": "yes", "actuator-sounds": "weak", "supply-drop": "ok"}
TRIED = 3  # checks that pgmpy is timed on; the rest is counted, it would take minutes


def main() -> None:
    warnings.simplefilter("ignore")
    logging.disable(logging.WARNING)
    loaded = reader.load(CONTENT)
    compiled = compiler.compile(loaded)
    # The questions as nodes would need more memory than there is (tests/reference/oracle.py).
    text = bif.bif(compiler.network(loaded.causes, loaded.findings, questions=False))
    here = case.situation({})
    findings = {item["name"]: item for item in compiled["variables"] if item["kind"] == "finding"}
    left = [item["name"] for item in case.open_checks(findings, CASE, here, compiled["openings"])]
    stakes = Stakes(compiled, "electric")
    causes = [cause for group in stakes.groups for cause in group["causes"]]
    evidence = {**case.given(compiled, "electric"), **CASE}
    asked = [cause for cause in causes if cause not in evidence]
    passes = len(stakes.groups)

    ours = timed(lambda: advice.isolate(compiled, CASE, {}), 10)
    print(f"Layby, suspects, standing and {len(left)} checks ranked   {1e3 * ours:9.1f} ms")

    net = pyagrum.loadBN(_written(text))
    engine = pyagrum.LazyPropagation(net)

    def agrum() -> None:
        engine.setEvidence(evidence)
        engine.makeInference()
        for name in [*asked, *left]:
            engine.posterior(name)

    theirs = timed(agrum, 5) * (1 + passes)
    print(
        f"pyAgrum, one pass a group, all of them          {1e3 * theirs:9.1f} ms   {theirs / ours:7.1f} times"
    )

    elimination = VariableElimination(BIFReader(string=text).get_model())

    def pgmpy(names: list[str]) -> None:
        for name in names:
            elimination.query([name], evidence=evidence, show_progress=False)

    each = timed(lambda: pgmpy([*asked[:TRIED], *left[:TRIED]]), 1) / (2 * TRIED)
    whole = each * (len(asked) + len(left) * (1 + passes))
    label = f"pgmpy, by {2 * TRIED} of its queries"
    print(f"{label:<48}{1e3 * whole:9.1f} ms   {whole / ours:7.1f} times")


def _written(text: str) -> str:
    with tempfile.NamedTemporaryFile("w", suffix=".bif", delete=False) as file:
        file.write(text)
    return file.name


def timed(work: Callable[[], Any], rounds: int) -> float:
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


if __name__ == "__main__":
    main()
