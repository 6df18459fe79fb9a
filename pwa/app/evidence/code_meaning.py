"""What a trouble code means: content's words for it, its class, its system, and the findings it is about."""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from pwa.app.shapes import Code, Codes


class Named(TypedDict):
    """What of a code says which it is; `engine.codes.dtc.Code` has it, and so has a code's record."""

    kind: str
    key: str
    spn: "int | None"
    fmi: "int | None"


class Meaning(TypedDict):
    """`finding` is what the code answers. `could` are all findings that it may be about, that one among
    them: while the code stands, none of them may be answered as if there were no code.
    """

    text: str
    kind: str  # the class, as schema.CodeClass
    system: str  # "" when content does not know what the code is about
    finding: str  # "" when the code is no evidence
    outcome: str
    could: "list[str]"


UNKNOWN = "Not a code this version knows. It is kept as typed; look it up in the maker's information."
YES = "yes"
TOLD_NOTHING = "unknown"


def of_code(tables: "Codes", code: Named, about: str = "") -> Meaning:
    """The meaning of a code.

    A pair of SPN and FMI that content names speaks first, then the SPN (whose part it is) with the FMI: a
    broken wire at another part says nothing of the actuator's wiring. Of a code that nobody knows
    the first characters may still say what it is about; else it may be about everything.

    Args:
        about: the system that somebody named for a code that content does not know; "" if nobody did.
    """
    entry, fmi = _entry(tables, code), tables["fmi"].get(str(code["fmi"]))
    if entry is None:
        return _unknown(tables, code, fmi, about)
    kind = fmi["kind"] if fmi and code["key"] not in tables["pairs"] else entry["kind"]
    words = entry["text"]
    if fmi and code["key"] not in tables["pairs"]:
        words = f"{words}: {fmi['text']}"
    system = entry["system"] or _of_spn(tables, code)
    finding, could = _told(tables, system, kind, code)
    if entry["finding"] and entry["finding"] != finding:
        finding, could = entry["finding"], _with_broad(tables, system, [entry["finding"]])
    return {
        "text": words,
        "kind": kind,
        "system": system,
        "finding": finding,
        "outcome": (entry["outcome"] or YES) if finding else "",
        "could": _once(could + entry["could"]),
    }


def is_known(tables: "Codes", code: Named) -> bool:
    return _entry(tables, code) is not None


def every(tables: "Codes", system: str) -> "list[str]":
    """The findings that codes of a system answer, the broad one first."""
    known = tables["systems"].get(system)
    if known is None:
        return []
    told = [finding for told in sorted(known["tells"]) for finding in known["tells"][told]]
    return _once(([known["broad"]] if known["broad"] else []) + told)


def _entry(tables: "Codes", code: Named) -> "Code | None":
    if code["kind"] != "j1939":
        return tables["dtc"].get(code["key"])
    return tables["pairs"].get(code["key"]) or tables["spn"].get(str(code["spn"]))


def _of_spn(tables: "Codes", code: Named) -> str:
    spn = tables["spn"].get(str(code["spn"]))
    return spn["system"] if spn else ""


def _told(tables: "Codes", system: str, kind: str, code: Named) -> "tuple[str, list[str]]":
    """The finding that a code of a system answers, and all that it may be about."""
    known = tables["systems"].get(system)
    if known is None or not known["broad"]:
        return "", []
    told = known["tells"].get(str(code["fmi"])) or known["tells"].get(kind)
    if told:
        return told[0], _with_broad(tables, system, told)
    return known["broad"], every(tables, system)


def _with_broad(tables: "Codes", system: str, told: "list[str]") -> "list[str]":
    """A code whose kind is told leaves open whether there is one whose kind is not.

    Where the broad finding stands among what it tells, its kind is not told after all: all stays open.
    """
    known = tables["systems"].get(system)
    broad = known["broad"] if known else ""
    return told + every(tables, system) if broad in told else told + ([broad] if broad else [])


def _unknown(tables: "Codes", code: Named, fmi: "Code | None", about: str) -> Meaning:
    kind = fmi["kind"] if fmi else TOLD_NOTHING
    words = f"Unknown parameter {code['spn']}: {fmi['text']}" if fmi else UNKNOWN
    finding, could = _told(tables, about, kind, code)
    if not about:
        for system in _perhaps(tables, code):
            could += every(tables, system)
    return {
        "text": words,
        "kind": kind,
        "system": about,
        "finding": finding,
        "outcome": YES if finding else "",
        "could": _once(could),
    }


def _perhaps(tables: "Codes", code: Named) -> "list[str]":
    """The systems that an unknown code may be about: its first characters say it, or it may be all."""
    if code["kind"] != "j1939":
        for length in range(len(code["key"]), 0, -1):
            known = tables["ranges"].get(code["key"][:length])
            if known:
                return known["systems"]
    return sorted(tables["systems"])


def _once(names: "list[str]") -> "list[str]":
    found: list[str] = []
    for name in names:
        if name not in found:
            found.append(name)
    return found
