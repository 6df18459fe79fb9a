"""From the codes of a job to its findings: what they answer, and what "no other codes" may clear.

A code clears nothing that it may be about itself. One whose kind is not told keeps all of its system open.
One that nobody knows keeps open whatever it may be about, until somebody says what that is.
"""

from typing import TYPE_CHECKING

from pwa.app.evidence import code_meaning
from pwa.app.evidence.code_meaning import YES

if TYPE_CHECKING:
    from pwa.app.evidence.code_meaning import Meaning
    from pwa.app.kinds.data import Code
    from pwa.app.shapes import Codes, Content, Finding

WAY = "codes"  # of the findings that only codes answer
STORED, ACTIVE = "stored", "active"
# How likely it is that a stored code is of this complaint, and that it is an old one; our estimate.
OLD: "dict[str, float]" = {YES: 0.9, "no": 0.1}


def is_stored(data: "Code") -> bool:
    """Whether it is known that the code is not active any more."""
    return data.get("status") == STORED or (not data.get("status") and data.get("message") == "DM2")


def meanings(tables: "Codes", data: "Code") -> "list[Meaning]":
    """What the code means; several where an old layout of its bytes leaves several parameters possible."""
    about = data.get("about") or ""
    spns = data.get("candidates") or []
    if len(spns) <= 1:
        return [code_meaning.of_code(tables, data, about)]
    found = []
    for spn in spns:
        key = f"{spn}/{data['fmi']}"
        found.append(
            code_meaning.of_code(tables, {"kind": "j1939", "key": key, "spn": spn, "fmi": data["fmi"]}, about)
        )
    return found


def answers(tables: "Codes", codes: "list[Code]") -> "dict[str, bool]":
    """The findings that these codes answer with "yes", and whether only stored ones do.

    What may be one of several parameters answers nothing.
    """
    found: dict[str, bool] = {}
    for data in codes:
        read = meanings(tables, data)
        if len(read) == 1 and read[0]["finding"]:
            finding = read[0]["finding"]
            found[finding] = is_stored(data) and found.get(finding, True)
    return found


def could(tables: "Codes", codes: "list[Code]") -> "list[str]":
    """The findings that some of these codes may be about."""
    found: list[str] = []
    for data in codes:
        for meaning in meanings(tables, data):
            found += [name for name in meaning["could"] if name not in found]
    return found


def cleared(content: "Content", codes: "list[Code]") -> "list[Finding]":
    """The findings that "no other codes" answers: those of codes that none of these may be about."""
    open_ones = could(content["codes"], codes)
    return [item for item in of_codes(content) if item["key"] not in open_ones]


def of_codes(content: "Content") -> "list[Finding]":
    return [item for item in content["findings"] if item["way"] == WAY]


def weights(stored: bool) -> "dict[str, float] | None":
    """How likely a code is under either answer; None where it is active, which is sure."""
    return OLD.copy() if stored else None
