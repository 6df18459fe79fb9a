"""Whether case-code.yaml has a number for every finding and outcome, and none that leads nowhere."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import yaml
from pydantic import BaseModel

from pwa.build.content import schema
from pwa.engine.evidence.truck import APART, ASSEMBLED, HOUSING

Problem = tuple[BaseModel, tuple[str | int, ...], str]  # as in references.py
FILE = "case-code.yaml"


def append(root: Path, content: schema.Content) -> bool:
    """Give numbers to findings, outcomes and states that have none, at the end of the file and of its lines.

    What was given out stays where it is. Returns whether the file was changed.
    """
    file = root / FILE
    old = text = file.read_text("utf-8")
    states = [key for key in _states(content) if key not in content.case_code.states]
    if states:
        line = re.compile(r"^(states: \[[^\]]+)\]", re.MULTILINE)
        text = line.sub(lambda found: f"{found[1]}, {', '.join(states)}]", text)
    numbered = {item.key: item.outcomes for item in content.case_code.findings}
    for finding in content.findings:
        known = numbered.get(finding.key, [])
        new = ", ".join(f'"{outcome.key}"' for outcome in finding.outcomes if outcome.key not in known)
        if finding.key not in numbered:
            text = text.rstrip("\n") + f"\n  - {{key: {finding.key}, outcomes: [{new}]}}\n"
        elif new:
            line = re.compile(rf"^( +- {{key: {re.escape(finding.key)}, outcomes: \[[^\]]+)\]", re.MULTILINE)
            text = line.sub(lambda found, new=new: f"{found[1]}, {new}]", text)  # type: ignore[misc]
    if text == old or not _grown(old, text):
        return False
    file.write_text(text, "utf-8")
    return True


def _grown(old: str, new: str) -> bool:
    """Whether every number of the old text means the same in the new one."""
    before, after = yaml.safe_load(old), yaml.safe_load(new)
    grows = ("findings", "states")
    rest = [{name: data[name] for name in data if name not in grows} for data in (before, after)]
    states = [data.get("states") or [] for data in (before, after)]
    given, now_given = before.get("findings") or [], after.get("findings") or []
    pairs = list(zip(given, now_given, strict=False))
    kept = all(
        was["key"] == now["key"] and now["outcomes"][: len(was["outcomes"])] == was["outcomes"]
        for was, now in pairs
    )
    same_states = states[1][: len(states[0])] == states[0]
    return rest[0] == rest[1] and same_states and len(pairs) == len(given) and kept


def _states(content: schema.Content) -> list[str]:
    """In what state an answer was seen: assembled, apart as older notes say it, or with one opening made."""
    return [ASSEMBLED, APART, *(item.key for item in content.openings if item.key != HOUSING)]


def problems(content: schema.Content) -> Iterator[Problem]:
    table = content.case_code
    if not table.findings and content.findings:
        yield table, (), "it numbers no finding"
        return
    numbered = {item.key: item for item in table.findings}
    for finding in content.findings:
        outcomes = [outcome.key for outcome in finding.outcomes]
        item = numbered.get(finding.key)
        if item is None:
            quoted = ", ".join(f'"{key}"' for key in outcomes)
            line = f"  - {{key: {finding.key}, outcomes: [{quoted}]}}"
            yield finding, ("key",), f"{FILE} has no number for {finding.key}; append there: {line}"
            continue
        for at, key in enumerate(outcomes):
            if key not in item.outcomes:
                problem = f"{FILE} has no number for {finding.key} {key}; append it to the outcomes there"
                yield finding, ("outcomes", at, "key"), problem
    yield from _table(table, {finding.key for finding in content.findings})
    for key in _states(content):
        if table.states.count(key) != 1:
            yield table, ("states",), f"{key} must stand here once"


def _table(table: schema.CaseCode, known: set[str]) -> Iterator[Problem]:
    seen: set[str] = set()
    for at, item in enumerate(table.findings):
        where = ("findings", at, "key")
        if item.key in seen:
            yield table, where, f"the key {item.key} stands here a second time"
        if item.key not in known and not item.retired:
            yield table, where, f"there is no finding {item.key}; if it is gone, say retired: true"
        if len(set(item.outcomes)) < len(item.outcomes):
            yield table, ("findings", at, "outcomes"), "an outcome stands here a second time"
        seen.add(item.key)
    for name, wanted in (("drives", schema.JobDrive), ("places", schema.Place)):
        for key in get_args(wanted):
            if getattr(table, name).count(key) != 1:
                yield table, (name,), f"{key} must stand here once"
