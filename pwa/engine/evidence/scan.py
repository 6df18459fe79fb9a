"""One check that answers many findings at one go: reading all codes.

Its minutes are paid once, so what it saves is what its findings save together. That is more than each saves
alone: one code seldom changes the decision, what all of them say often does. So it counts as saving the same
part of what it moves (see `shortlist`) as the checks that are made one by one do, or what its findings save
when they are added up, if that is more.
"""

from typing import TYPE_CHECKING

from pwa.engine.evidence import reasons, value

if TYPE_CHECKING:
    from typing import Any

    from pwa.engine.evidence.case import Finding
    from pwa.engine.evidence.network import Pass
    from pwa.engine.evidence.value import Check, Weighing

    Scan = dict[str, Any]  # of the compiled model, as schema.Scan
    Read = tuple[Scan, list[Finding]]  # a scan, and the findings that it would answer, most promising first

WEIGHED = 6  # findings of a scan; what the rest save is little
NAMED = 2  # of them that are named with what they speak for
NOTHING_FOUND = "none"  # its one outcome that needs no more typing


def apart(
    left: "list[Finding]", scans: "list[Scan]", skipped: "list[str]"
) -> "tuple[list[Finding], list[Read]]":
    """The checks that are made one by one, and each scan that still has something to answer."""
    ways = [scan["way"] for scan in scans]
    reads: list[Read] = []
    for scan in scans:
        read = [item for item in left if item["way"] == scan["way"]]
        if read and scan["key"] not in skipped:
            reads.append((scan, read))
    return [item for item in left if item["way"] not in ways], reads


def weighed(reads: "list[Read]") -> "list[Finding]":
    """The findings of scans that are worth weighing."""
    found: list[Finding] = []
    for _, read in reads:
        found += read[:WEIGHED]
    return found


def among(
    ranked: "list[Check]",
    left: "list[Finding]",
    reads: "list[Read]",
    weighing: "Weighing",
    opened: "dict[str, float]",
) -> "list[Check]":
    """The checks, best first, with each scan in its place.

    Args:
        ranked: the checks that are made one by one, of the weighed findings `left` and others.
        opened: as in `value.checks`.
    """
    found = ranked[:]
    moved = sum([item["moves"] for item in left])
    for scan, read in reads:
        check = _check(scan, read, value.checks(read[:WEIGHED], weighing, opened))
        part = sum([item["moves"] for item in read]) / moved if moved > 0 else 0.0
        for name in ("saves", "promises"):
            check[name] = max(check[name], part * sum([item[name] for item in ranked]))
        check["worth"] = check["promises"] / check["minutes"]
        place = len([item for item in found if item["worth"] >= check["worth"] > 0])
        found.insert(place if check["worth"] > 0 else len(found), check)
    return found


def speaks(check: "Check", findings: "dict[str, Finding]", whole: "Pass") -> "list[reasons.Pointer]":
    """What its findings speak for most, each by its own name."""
    found: list[reasons.Pointer] = []
    for key in check["answers"][:NAMED]:
        item = findings[key]
        chances = {cause: whole.joint(cause)[1] / whole.total for cause in item["shown_by"]}
        for pointer in reasons.pointers(item, chances)[:1]:
            found.append({"outcome": item["label"], "cause": pointer["cause"], "p": pointer["p"]})
    return found


def _check(scan: "Scan", read: "list[Finding]", each: "list[Check]") -> "Check":
    """The scan as a check; `each` are its weighed findings as checks, best first."""
    check = each[0].copy()
    best = [item["finding"] for item in each]
    check["finding"], check["name"], check["question"] = scan["key"], scan["name"], scan["question"]
    check["outcomes"] = [{"key": NOTHING_FOUND, "label": "No codes at all"}]
    check["answers"] = best + [item["name"] for item in read if item["name"] not in best]
    check["minutes"] += scan["minutes"]  # beside what has to be put back for it
    check["tools"] = scan["tools"]
    check["saves"] = sum([item["saves"] for item in each])
    check["promises"] = sum([item["promises"] for item in each])
    return check
