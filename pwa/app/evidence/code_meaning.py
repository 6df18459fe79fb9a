"""What a trouble code means: content's words for it, its class, and the finding it is evidence for."""

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
    text: str
    kind: str  # the class, as schema.CodeClass
    finding: str  # "" when the code is no evidence
    outcome: str


UNKNOWN = "Not a code this version knows. It is kept as typed; look it up in the maker's information."


def of_code(tables: "Codes", code: Named) -> Meaning:
    """The meaning of a code.

    A pair of SPN and FMI that content names speaks first, then the SPN (whose part it is), then the FMI:
    a broken wire at another part says nothing of the actuator's wiring. An SPN that nobody knows gives the
    FMI's words but is no evidence.
    """
    if code["kind"] != "j1939":
        return _meaning(tables["dtc"].get(code["key"]))
    pair = tables["pairs"].get(code["key"])
    if pair:
        return _meaning(pair)
    spn, fmi = tables["spn"].get(str(code["spn"])), tables["fmi"].get(str(code["fmi"]))
    if spn is None:
        words = f"Unknown parameter {code['spn']}: {fmi['text']}" if fmi else UNKNOWN
        return {"text": words, "kind": fmi["kind"] if fmi else "unknown", "finding": "", "outcome": ""}
    if fmi is None:
        return _meaning(spn)
    speaks = spn if spn["finding"] else fmi
    return {
        "text": f"{spn['text']}: {fmi['text']}",
        "kind": fmi["kind"],
        "finding": speaks["finding"],
        "outcome": speaks["outcome"],
    }


def _meaning(entry: "Code | None") -> Meaning:
    if entry is None:
        return {"text": UNKNOWN, "kind": "unknown", "finding": "", "outcome": ""}
    return {
        "text": entry["text"],
        "kind": entry["kind"],
        "finding": entry["finding"],
        "outcome": entry["outcome"],
    }
