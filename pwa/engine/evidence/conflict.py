"""Which answers cannot well be true together, so that one of them is checked again.

Two faults that both explain the complaint compete: each answer makes the other fault less likely. That is no
contradiction, so what fits together is judged without the complaint. In a noisy-OR network two signs of
faults then never speak against each other, as all are increasing functions of independent causes (Esary,
Proschan and Walkup 1967). What does: a check that finds nothing where another saw the fault.

An answer is suspicious when the others make it much less likely, as in the conflict measure of Jensen et al.
1990. A pair is called a conflict only if no single cause shows the one and leaves the other usual (the "rare
case" of the same paper). Where no pair stands out, one answer may still be alone against all the others.
"""

from math import log
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from pwa.engine.evidence.case import Finding
    from pwa.engine.evidence.network import Evidence, Model, Pass

SUSPICIOUS = 0.58  # bits: the others make the answer two thirds as likely as it is alone; our estimate
APART = 0.1  # bits: likewise of a pair without the complaint, where competing faults give none
SHOWN = 0.1  # how often a cause must show an answer to explain it
SPEAKS = 2.0  # how many times as often as usual it must show it
PLAUSIBLE = 0.05  # how probable the cause must be under all that is known
USUAL = 0.4  # share of its usual chance that the other answer keeps where the cause explains both
TRIED = 3  # most suspicious answers that are looked at, and partners of each


def find(
    model: "Model",
    evidence: "Evidence",
    before: "Pass",
    whole: "Pass",
    without_complaint: "Callable[[Evidence], Pass]",
) -> "list[str]":
    """The two answers that fit each other least, or the one that fits the others least; [] when all fit.

    Args:
        before: the pass that knows the complaint and no answer.
        whole: the pass that knows all of the evidence too.
        without_complaint: the pass that knows some evidence and no complaint.
    """
    findings = {item["name"]: item for item in model["variables"] if item["kind"] == "finding"}
    suspicious = []
    for name in sorted(evidence):
        alone = _answered(before, evidence[name], findings[name])
        bits = _bits(alone) - _bits(whole.total / sum(whole.without(name)))
        if bits >= SUSPICIOUS:
            suspicious.append((-round(bits, 9), name))
    if not suspicious:
        return []
    judge = _Judge(evidence, findings, _plausible(model, whole), without_complaint)
    tried = [name for _, name in sorted(suspicious)[:TRIED]]
    for name in tried:
        partner = judge.partner(name)
        if partner:
            return [name, partner]
    return [name for name in tried if judge.alone_against_all(name)][:1]


def as_text(names: "list[str]", told: "dict[str, str]", findings: "dict[str, Finding]") -> str:
    """Says which two do not fit together, or which one does not fit the rest; "" for none."""
    said = []
    for name in names:
        labels = {item["key"]: item["label"] for item in findings[name]["outcomes"]}
        said.append(f"“{findings[name]['label']}: {labels[told[name]]}”")
    if not said:
        return ""
    if len(said) == 1:
        return f"{said[0]} does not fit the other answers: check it again."
    return f"{said[0]} and {said[1]} do not fit together: check one of them again."


def _plausible(model: "Model", whole: "Pass") -> "list[str]":
    """The causes and effects that may explain something; one that hardly can be there explains nothing."""
    known = [item["name"] for item in model["variables"] if item["kind"] in ("cause", "effect")]
    return [name for name in known if whole.joint(name)[1] >= PLAUSIBLE * whole.total]


class _Judge:
    """Weighs answers against each other without the complaint."""

    def __init__(
        self,
        evidence: "Evidence",
        findings: "dict[str, Finding]",
        causes: "list[str]",
        believed: "Callable[[Evidence], Pass]",
    ) -> None:
        self._evidence, self._findings = evidence, findings
        self._causes, self._believed = causes, believed
        self._nothing = self._with([])

    def partner(self, name: str) -> str:
        """The answer that speaks most against this one, if no single cause explains the two; else ""."""
        own = self._with([name])
        against = []
        for other in sorted(self._evidence):
            if other != name:
                bits = _bits(self._usual(other)) - _bits(self._answered(own, other))
                if bits >= APART:
                    against.append((-round(bits, 9), other))
        for _, other in sorted(against)[:TRIED]:
            if not self._explained(name, other, own):
                return other
        return ""

    def alone_against_all(self, name: str) -> bool:
        """Whether the others alone, without the complaint, make this answer as unlikely."""
        others = self._with([other for other in sorted(self._evidence) if other != name])
        return _bits(self._usual(name)) - _bits(self._answered(others, name)) >= SUSPICIOUS

    def _explained(self, first: str, second: str, one: "Pass") -> bool:
        """Whether a cause or effect shows one of the two and leaves the other as usual."""
        two, both = self._with([second]), self._with([first, second])
        for cause in self._causes:
            p, p_one = self._nothing.joint(cause)[1], one.joint(cause)[1]
            p_two, p_both = two.joint(cause)[1], both.joint(cause)[1]
            if min(p, p_one, p_two) <= 0:
                continue
            given_two, given_one = p_both / p_two, p_both / p_one
            if self._shows(first, given_two) and given_one >= USUAL * self._usual(second):
                return True
            if self._shows(second, given_one) and given_two >= USUAL * self._usual(first):
                return True
        return False

    def _shows(self, name: str, chance: float) -> bool:
        return chance >= SHOWN and chance >= SPEAKS * self._usual(name)

    def _usual(self, name: str) -> float:
        return self._answered(self._nothing, name)

    def _answered(self, beliefs: "Pass", name: str) -> float:
        return _answered(beliefs, self._evidence[name], self._findings[name])

    def _with(self, names: "list[str]") -> "Pass":
        return self._believed({name: self._evidence[name] for name in names})


def _answered(beliefs: "Pass", said: "str | dict[str, float]", item: "Finding") -> float:
    """Probability of an answer, sure or not, of which these beliefs do not know yet."""
    states = item["states"]
    marginal = [p / beliefs.total for p in beliefs.joint(item["name"])]
    if isinstance(said, str):
        return float(marginal[states.index(said)])
    return sum([marginal[k] * said.get(states[k], 0.0) for k in range(len(states))])


def _bits(chance: float) -> float:
    return log(max(chance, 1e-300)) / log(2)
