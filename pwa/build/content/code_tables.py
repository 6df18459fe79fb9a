"""Whether each code names its system, and each system the findings that its codes are about."""

from collections.abc import Iterator
from typing import get_args

from pydantic import BaseModel

from pwa.build.content import schema
from pwa.build.content.names import missing

Problem = tuple[BaseModel, tuple[str | int, ...], str]  # as in references.py
KINDS = {*get_args(schema.CodeClass), *map(str, range(32))}


def problems(content: schema.Content) -> Iterator[Problem]:
    codes, systems = content.codes, content.codes.systems
    findings = [item.key for item in content.findings if item.way == "codes"]
    for table in (codes.spn, codes.dtc, codes.pairs):
        for key, code in table.items():
            spn = codes.spn.get(key.partition("/")[0]) if table is codes.pairs else None
            system = code.system or (spn.system if spn else "")
            if system not in systems:
                yield code, ("system",), missing("system", system, systems, " in codes/systems.yaml")
            for at, finding in enumerate(code.could):
                if finding not in findings:
                    yield code, ("could", at), missing("finding of codes", finding, findings)
    for known in systems.values():
        yield from _system(known, findings)
    for prefix in codes.ranges.values():
        for at, system in enumerate(prefix.systems):
            if system not in systems:
                yield prefix, ("systems", at), missing("system", system, systems, " in codes/systems.yaml")
    answered = {known.broad for known in systems.values()}
    answered |= {name for known in systems.values() for told in known.tells.values() for name in told}
    for item in content.findings:
        if item.way == "codes" and item.key not in answered:
            yield item, ("way",), "no system in codes/systems.yaml answers this finding of codes"


def _system(known: schema.CodeSystem, findings: list[str]) -> Iterator[Problem]:
    if known.broad and known.broad not in findings:
        yield known, ("broad",), missing("finding of codes", known.broad, findings)
    for kind, told in known.tells.items():
        if kind not in KINDS:
            yield known, ("tells", kind), missing("class of codes or FMI", kind, sorted(KINDS))
        for at, finding in enumerate(told):
            if finding not in findings:
                yield known, ("tells", kind, at), missing("finding of codes", finding, findings)
        if not told or not known.broad:
            yield known, ("tells", kind), "it names at least one finding, and its system has a broad one"
