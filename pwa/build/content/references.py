"""Cross checks over all of content/: references that lead nowhere, numbers without what they need."""

import re
from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from pwa.build.content import calculations, code_tables, schema, truck
from pwa.build.content.names import missing
from pwa.engine.numbers import units

Where = tuple[str | int, ...]
Problem = tuple[BaseModel, Where, str]  # the model, the place inside it, what is wrong

LAWFUL = ("law", "standard")
LENGTH = re.compile(r"\d\s?(m|ft)\b")


def problems(content: schema.Content, tools: list[str]) -> Iterator[Problem]:
    """What each file alone cannot know; `tools` are those of tools.yaml."""
    yield from _sources(content)
    yield from _cautions(content)
    yield from _evidence(content)
    yield from code_tables.problems(content)
    yield from calculations.problems(content)
    yield from truck.problems(content)
    yield from _model(content)
    yield from _parts(content)
    yield from _tools(content, tools)
    yield from _order(content.joints)
    yield from _proofs(content.proofs)
    for caution in content.cautions:
        yield from _distances(caution, content.sources)


def codes(content: schema.Content) -> list[schema.Code]:
    tables = (content.codes.spn, content.codes.fmi, content.codes.dtc, content.codes.pairs)
    return [code for table in tables for code in table.values()]


def _sources(content: schema.Content) -> Iterator[Problem]:
    cited: list[tuple[BaseModel, Where, str]] = []
    single: list[Any] = [*content.causes, *content.findings, *content.joints, *content.proofs]
    single += [*content.scans, *content.openings, *content.stops, *content.repairs, *content.actuators]
    single += [*content.codes.systems.values(), *content.codes.ranges.values()]
    cited += [(item, ("source",), item.source) for item in [*single, *content.fasteners, *codes(content)]]
    several: list[Any] = [*content.cautions, *content.procedures]
    cited += [(item, ("sources", at), key) for item in several for at, key in enumerate(item.sources)]
    for caution in content.cautions:
        for at, distance in enumerate(caution.distances):
            cited.append((caution, ("distances", at, "source"), distance.source))
    for measure in content.measures:
        cited += [(measure, ("sources", at), key) for at, key in enumerate(measure.sources)]
        for at, limit in enumerate(measure.limits):
            cited.append((measure, ("limits", at, "source"), limit.source))
    for item, where, key in cited:
        if key not in content.sources:
            yield item, where, missing("source", key, content.sources, " in sources.yaml")


def _cautions(content: schema.Content) -> Iterator[Problem]:
    known = sorted(item.key for item in content.cautions)
    careful: list[Any] = [*content.findings, *content.measures, *content.fasteners, *content.joints]
    careful += content.stops
    named = [(item, ("caution", at), key) for item in careful for at, key in enumerate(item.caution)]
    for page in content.procedures:
        named += [(page, ("cautions", at), key) for at, key in enumerate(page.cautions)]
    for item, where, key in named:
        if key not in known:
            yield item, where, missing("caution", key, known)


def _evidence(content: schema.Content) -> Iterator[Problem]:
    """Codes and measurements answer findings that exist, and calculations exist too."""
    findings = {item.key: {outcome.key for outcome in item.outcomes} for item in content.findings}
    for code in codes(content):
        if code.finding and code.outcome not in findings.get(code.finding, set()):
            yield code, ("finding",), f"there is no finding {code.finding} with the outcome {code.outcome}"
        if code.outcome and not code.finding:
            yield code, ("outcome",), "an outcome without the finding it belongs to"
    for measure in content.measures:
        if measure.finding and measure.finding not in findings:
            yield measure, ("finding",), missing("finding", measure.finding, findings)


def _tools(content: schema.Content, known: list[str]) -> Iterator[Problem]:
    users: list[Any] = [*content.findings, *content.measures, *content.scans]
    for item in users:
        for at, tool in enumerate(item.tools):
            if tool not in known:
                yield item, ("tools", at), missing("tool", tool, known, " in tools.yaml")


def _order(joints: list[schema.Joint]) -> Iterator[Problem]:
    taken: dict[int, str] = {}
    for joint in joints:
        if joint.order in taken:
            free = max(item.order for item in joints) + 1
            text = f"{taken[joint.order]} has the order {joint.order} too; {free} is free"
            yield joint, ("order",), text
        taken.setdefault(joint.order, joint.key)


def _proofs(proofs: list[schema.Proof]) -> Iterator[Problem]:
    known = [unit for scales in units.UNITS.values() for unit in scales]
    for proof in proofs:
        if proof.unit and proof.unit not in known:
            yield proof, ("unit",), missing("unit", proof.unit, known)


def _model(content: schema.Content) -> Iterator[Problem]:
    causes = [item.key for item in content.causes]
    for effect in content.causes:
        for parent in effect.because_of:
            if parent not in causes:
                yield effect, ("because_of", parent), missing("cause", parent, causes)
    for finding in content.findings:
        for cause, chances in finding.shown_by.items():
            if cause not in causes:
                yield finding, ("shown_by", cause), missing("cause", cause, causes)
            yield from _chances(finding, ("shown_by", cause), chances)
        yield from _chances(finding, ("leak",), finding.leak)
    yield from _repairs(content)


def _repairs(content: schema.Content) -> Iterator[Problem]:
    """A fault has a repair that cures it, an effect has none; what is fixed first exists."""
    repairs = [item.key for item in content.repairs]
    upstream, proofs = [item.key for item in content.causes if item.upstream], [p.key for p in content.proofs]
    for cause in content.causes:
        if (cause.system == "effect") == bool(cause.put_right):
            yield cause, ("put_right",), "a fault names the repairs that cure it; an effect has none"
        for key, chance in cause.put_right.items():
            if key not in repairs:
                yield cause, ("put_right", key), missing("repair", key, repairs)
            if not 0 < chance < 1:
                yield cause, ("put_right", key), "the chance that it cures lies between 0 and 1, without them"
        if cause.put_right and not cause.wrong:
            yield cause, ("wrong",), "say what it costs to overlook this, or to blame it wrongly"
    for finding in content.findings:
        if not finding.wrong:
            yield finding, ("wrong",), "say what a wrong answer here costs"
        yield from _places(finding, [item.key for item in content.causes])
    for repair in content.repairs:
        for at, key in enumerate(repair.includes):
            if key not in repairs:
                yield repair, ("includes", at), missing("repair", key, repairs)
        for at, key in enumerate(repair.proofs):
            if key not in proofs:
                yield repair, ("proofs", at), missing("proof", key, proofs)
        for at, key in enumerate(repair.upstream):
            if key not in upstream:
                yield repair, ("upstream", at), missing("upstream cause", key, upstream)


def _places(finding: schema.Finding, causes: list[str]) -> Iterator[Problem]:
    outcomes = [outcome.key for outcome in finding.outcomes]
    for outcome, located in finding.locates.items():
        if outcome not in outcomes:
            yield finding, ("locates", outcome), missing("outcome", outcome, outcomes)
        for key in located:
            if key not in causes:
                yield finding, ("locates", outcome), missing("cause", key, causes)


def _parts(content: schema.Content) -> Iterator[Problem]:
    """Parts exist, and so do the outcomes that say that one is missing."""
    parts = [item.key for item in content.parts]
    owners: list[Any] = [*content.causes, *content.findings]
    for item in owners:
        if item.part and item.part not in parts:
            yield item, ("part",), missing("part", item.part, parts, " in parts.yaml")
    for finding in content.findings:
        if bool(finding.given) != bool(finding.complaint):
            yield finding, ("complaint",), "a complaint has both given and complaint"
        outcomes = [outcome.key for outcome in finding.outcomes]
        for outcome, lacking in finding.lacks.items():
            if outcome not in outcomes:
                yield finding, ("lacks", outcome), missing("outcome", outcome, outcomes)
            for at, key in enumerate(lacking):
                if key not in parts and key != finding.part:
                    where = ("lacks", outcome, at)
                    yield finding, where, missing("part", key, parts, " in parts.yaml")


def _chances(finding: schema.Finding, where: Where, chances: list[float]) -> Iterator[Problem]:
    count = len(finding.states()) - 1
    if len(chances) != count:
        wanted = f"one number for each outcome but the first, so {count}, not {len(chances)}"
        yield finding, where, wanted


def _distances(caution: schema.Caution, sources: dict[str, schema.Source]) -> Iterator[Problem]:
    seen: set[str] = set()
    for at, distance in enumerate(caution.distances):
        source = sources.get(distance.source)
        if source is not None and source.kind not in LAWFUL:
            problem = f"the distance for {distance.place} must cite a law or a standard, not {source.kind}"
            yield caution, ("distances", at, "source"), problem
        if distance.devices == "place" and not LENGTH.search(distance.rule):
            problem = f"the rule for {distance.place} has no distance with its unit (m or ft)"
            yield caution, ("distances", at, "rule"), problem
        if distance.key in seen:
            yield caution, ("distances", at, "key"), f"the key {distance.key} stands here a second time"
        seen.add(distance.key)
