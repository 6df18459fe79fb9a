"""From the causes and findings of content/ to the network that the phone propagates in.

A cause is "yes" or "no": noisy-OR of the causes that bring it about, its own chance being the leak. A
finding is the noisy-MAX of the causes that show it. Effects ("the vanes are not where they are asked to be")
stand between them: many causes lead to one effect and many findings show it, so that neither the person who
writes the model nor the phone has to deal with every pair.

Five questions are put to the network: `any-control` and `any-mechanism` (faults of the two sides of the VGT),
`any-outside` (faults of any other system), `any-upstream`, and `standing`, which says which of the first two
hold. An effect counts for none of them.
"""

from collections.abc import Callable, Iterable
from graphlib import CycleError, TopologicalSorter
from typing import Any

from pwa.build.content import schema
from pwa.build.content.truck import with_those_before
from pwa.build.model import noisy, plans, tree
from pwa.build.model.tree import Node
from pwa.engine.evidence.case import absent
from pwa.engine.evidence.network import posteriors
from pwa.engine.evidence.sides import CONTROL, MECHANISM, STANDING

QUESTIONS: dict[str, Callable[[schema.Cause], bool]] = {
    "any-control": lambda cause: cause.system == CONTROL,
    "any-mechanism": lambda cause: cause.system == MECHANISM,
    "any-outside": lambda cause: cause.system not in (CONTROL, MECHANISM, "effect"),
    "any-upstream": lambda cause: cause.upstream,
}

SELDOM = ("alone", "part", "lacks")  # fields of findings that few of them have


def compile(content: schema.Content) -> dict[str, Any]:
    """The junction tree of the content's fault model.

    Raises ValueError naming key and field of what cannot be: cycles, unknown causes, wrong numbers.
    """
    order = _causal_order(content.causes)
    model = tree.compile_network(_faults(order, content.findings), _questions(order))
    model.update(plans.decisions(content))
    for item in model["variables"]:
        if item["kind"] == "finding":
            item["opens"] = with_those_before(item["opens"], content.openings)
    model["scans"] = [scan.model_dump() for scan in content.scans]
    model["stops"] = [stop.model_dump() for stop in content.stops]
    model["actuators"] = _actuators(model, content.actuators)
    return model


def network(
    causes: list[schema.Cause], findings: list[schema.Finding], *, questions: bool = True
) -> list[Node]:
    """The whole network, parents before children, with the questions as variables of their own."""
    order = _causal_order(causes)
    nodes = _faults(order, findings)
    if not questions:
        return nodes
    for question, keys in _questions(order):
        nodes += noisy.any_of(question, keys)
    return [*nodes, _standing()]


def _faults(order: list[schema.Cause], findings: list[schema.Finding]) -> list[Node]:
    rank = {cause.key: position for position, cause in enumerate(order)}
    _check_names([*order, *findings])
    nodes = [node for cause in order for node in noisy.nodes(_of_cause(cause))]
    by_key = sorted(findings, key=lambda finding: finding.key)
    return nodes + [node for finding in by_key for node in noisy.nodes(_of_finding(finding, rank))]


def _questions(order: list[schema.Cause]) -> list[tuple[str, list[str]]]:
    return [
        (question, [cause.key for cause in order if belongs(cause)])
        for question, belongs in QUESTIONS.items()
    ]


def _actuators(model: dict[str, Any], actuators: list[schema.Actuator]) -> list[dict[str, Any]]:
    """The types of actuator, each with its factor in a mixture of them.

    A truck of one type is the network in which the causes of the others are absent. That they are is no
    evidence, so the probability of their absence is divided out of the share.
    """
    return [
        {
            "key": item.key,
            "name": item.name,
            "factor": item.share / posteriors(model, absent(model, item.key))["probability"],
        }
        for item in actuators
    ]


def _causal_order(causes: list[schema.Cause]) -> list[schema.Cause]:
    """Parents before children; otherwise by key, so that file order does not matter."""
    known = {cause.key: cause for cause in sorted(causes, key=lambda cause: cause.key)}
    for cause in known.values():
        _check_causes(f"cause {cause.key}, because_of", cause.because_of, known)
    try:
        order = TopologicalSorter({key: cause.because_of for key, cause in known.items()}).static_order()
        return [known[key] for key in order]
    except CycleError as error:
        circle = " -> ".join(error.args[1])
        raise ValueError(f"cause {error.args[1][0]}, because_of: causes go in a circle: {circle}") from None


def _check_causes(where: str, named: Iterable[str], known: Iterable[str]) -> None:
    for key in named:
        if key not in known:
            raise ValueError(f"{where}: there is no cause {key!r}")


def _check_names(things: list[schema.Cause | schema.Finding]) -> None:
    taken = {*QUESTIONS, "standing"}
    for thing in things:
        if thing.key in taken or "--" in thing.key:
            raise ValueError(f"{thing.key}, key: this name is taken, or holds --; choose another")
        taken.add(thing.key)


def _of_cause(cause: schema.Cause) -> noisy.Effect:
    for parent, chance in cause.because_of.items():
        _check_chance(f"cause {cause.key}, because_of {parent}", [chance], 1)
    return noisy.Effect(
        cause.key,
        noisy.NO_YES,
        {parent: [chance] for parent, chance in cause.because_of.items()},
        [cause.chance],
        "effect" if cause.system == "effect" else "cause",
        {
            "label": cause.name,
            "system": cause.system,
            "upstream": cause.upstream,
            "drives": cause.drives,
            "because_of": cause.because_of,
            **({"part": cause.part} if cause.part else {}),
        },
    )


def _of_finding(finding: schema.Finding, rank: dict[str, int]) -> noisy.Effect:
    where = f"finding {finding.key}"
    _check_causes(f"{where}, shown_by", finding.shown_by, rank)
    count = len(finding.states()) - 1
    _check_chance(f"{where}, leak", finding.leak, count)
    if min(finding.leak) <= 0:
        raise ValueError(f"{where}, leak: every outcome must be possible with nothing wrong, so none is 0")
    for cause, chances in finding.shown_by.items():
        _check_chance(f"{where}, shown_by {cause}", chances, count)
    if finding.given and finding.given not in finding.states():
        raise ValueError(f"{where}, given: there is no outcome {finding.given!r}")
    # Findings with the same causes share a sum over them; with many, the order as written decides who share
    # a helper, as for effects (see `pwa.build.model.order`).
    causes = list(finding.shown_by)
    if len(causes) <= noisy.MOST:
        causes.sort(key=lambda cause: rank[cause])
    return noisy.Effect(
        finding.key,
        finding.states(),
        {cause: finding.shown_by[cause] for cause in causes},
        finding.leak,
        "finding",
        {
            "label": finding.name,
            **_told(finding),
        },
    )


def _told(finding: schema.Finding) -> dict[str, Any]:
    """What the engine reads of a finding; what few have is left out where it is empty."""
    told = finding.model_dump(
        include={
            "question",
            "outcomes",
            "given",
            "alone",
            "part",
            "lacks",
            "minutes",
            "tools",
            "places",
            "running",
            "heat",
            "way",
            "opens",
            "closed",
            "locates",
            "shown_by",
            "drives",
            "caution",
        }
    )
    return {name: value for name, value in told.items() if value or name not in SELDOM}


def _check_chance(where: str, chances: list[float], count: int) -> None:
    """An outcome may be one that a cause never shows, but not all of them, and their sum is below 1."""
    if len(chances) != count:
        raise ValueError(f"{where}: {len(chances)} numbers for {count} outcomes after the first")
    if min(chances) < 0 or not 0 < sum(chances) < 1:
        raise ValueError(f"{where}: chances lie between 0 and 1, and so does their sum, not {chances}")


def _standing() -> Node:
    table = []
    for control in (False, True):
        for mechanism in (False, True):
            now = {(True, False): 0, (False, True): 1, (True, True): 2, (False, False): 3}[control, mechanism]
            table += [float(state == now) for state in range(len(STANDING))]
    states = tuple(key for key, _ in STANDING)
    return Node("standing", states, tuple(table), ("any-control", "any-mechanism"), "question")
