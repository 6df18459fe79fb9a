"""Whether what checks need of the truck can be had: openings, what the engine does, and the roadside."""

from collections.abc import Iterator

from pydantic import BaseModel

from pwa.build.content import schema
from pwa.build.content.names import missing
from pwa.engine.evidence import truck

Problem = tuple[BaseModel, tuple[str | int, ...], str]  # as in references.py
FROM_THE_CAB = ("a code reader",)  # tools with which a check may be made at the roadside
HOT = "hot-parts"  # the caution of checks that touch what burns


def problems(content: schema.Content) -> Iterator[Problem]:
    before: list[str] = []
    for opening in content.openings:
        for at, key in enumerate(opening.after):
            if key not in before:
                yield opening, ("after", at), missing("opening", key, before, " before this one")
        before.append(opening.key)
    known = {item.key: item for item in content.openings}
    for finding in content.findings:
        named = [("opens", at, key) for at, key in enumerate(finding.opens)]
        named += [("closed", at, key) for at, key in enumerate(finding.closed)]
        wrong = [(field, at, key) for field, at, key in named if key not in known]
        for field, at, key in wrong:
            yield finding, (field, at), missing("opening", key, known)
        if not wrong:
            yield from _possible(finding, content.openings)
        yield from _fit(finding)
    yield from _stops(content)


def with_those_before(keys: list[str], openings: list[schema.Opening]) -> list[str]:
    """Openings with all that must be made before them, in the order in which they are made."""
    after = {item.key: item.after for item in openings}
    found: list[str] = []
    for key in keys:
        for before in [*with_those_before(after.get(key, []), openings), key]:
            if before not in found:
                found.append(before)
    return found


def _possible(finding: schema.Finding, openings: list[schema.Opening]) -> Iterator[Problem]:
    """What a check opens neither forbids what it runs nor is what it wants closed."""
    opened = with_those_before(finding.opens, openings)
    for opening in openings:
        if opening.key in opened and truck.forbidden(opening.forbids, finding.running):
            problem = f"{opening.key} is off for it, which forbids {opening.forbids}"
            yield finding, ("running",), problem
        if opening.key in opened and opening.key in finding.closed:
            yield finding, ("closed",), f"{opening.key} is off for it, so it cannot be closed"


def _stops(content: schema.Content) -> Iterator[Problem]:
    """Rules name what there is, and whatever forbids a start says so as a rule."""
    findings = {item.key: [outcome.key for outcome in item.outcomes] for item in content.findings}
    openings = [item.key for item in content.openings]
    for stop in content.stops:
        for key, outcomes in stop.raised_by.items():
            if key not in findings:
                yield stop, ("raised_by", key), missing("finding", key, findings)
            for at, outcome in enumerate(outcomes):
                if key in findings and outcome not in findings[key]:
                    yield stop, ("raised_by", key, at), missing("outcome", outcome, findings[key])
        for at, key in enumerate(stop.open):
            if key not in openings:
                yield stop, ("open", at), missing("opening", key, openings)
    named = {key for stop in content.stops for key in stop.open}
    for opening in content.openings:
        if truck.forbidden(opening.forbids, "idle") and opening.key not in named:
            yield opening, ("forbids",), "it forbids a start: name it under open of a file in stops/"


def _fit(finding: schema.Finding) -> Iterator[Problem]:
    """Codes want the key on; hot parts are touched cold; the roadside is for what is asked, seen or read."""
    if finding.way in ("codes", "commanded") and finding.running == "off":
        yield finding, ("running",), "codes and commands want at least: key on"
    if HOT in finding.caution and finding.running in ("off", "key on") and finding.heat == "any":
        yield finding, ("heat",), f"with the caution {HOT}, say cold; hot only where warmth is the question"
    if "roadside" not in finding.places:
        if finding.way == "codes":
            yield finding, ("places",), "codes are read from the cab: write [roadside, bay]"
        return
    if finding.opens or finding.running not in ("off", "key on") or finding.way == "commanded":
        problem = "at the roadside nothing is opened, commanded or run; take roadside out of its places"
        yield finding, ("places",), problem
    if any(tool not in FROM_THE_CAB for tool in finding.tools):
        yield finding, ("places",), "at the roadside no tool but a code reader; take roadside out"
