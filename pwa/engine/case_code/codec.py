"""Case code: all findings of a job as a short text for a text message, a voice call or a QR code.

Findings and outcomes go by their numbers in a table that only ever grows (content/case-code.yaml), so an old
code means the same for every later version, and a newer code can be read but for what is newer.

The characters and their checks: checked_text.py.

The bits, five a character: format (5), drive and place (Golomb order 1), whether every finding was seen in
one state of assembly, and that state (1 bit, order 0), whether any has weights (1 bit), how many findings
(order 3). Then each finding in the table's order: how many numbers it is beyond the one before (order 2), its
outcome (order 0), its state (order 0) unless all have the same, and, if any has weights, 1 bit whether this
one has; then how many (order 1) and 10 bits each, as parts of the largest. The last character ends in zeros.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.case_code import checked_text
from pwa.engine.case_code.bits import Reader, Writer
from pwa.engine.case_code.checked_text import WIDTH

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    Table = Mapping[
        str, Any
    ]  # {"drives", "places", "states": [key], "findings": [{"key", "outcomes": [key]}]}

FORMAT = 1
STEPS = 1023  # of a weight
NEWER = "This code was written by a newer version of Layby. Take the update, then read it again."


class Said(TypedDict):
    """One finding of a case; `weights` are empty unless a number lay near its limit."""

    finding: str
    outcome: str
    state: str
    weights: "dict[str, float]"


class Mended(TypedDict):
    """One character that did not fit, by its place from 1, and the one that does."""

    at: int
    read: str
    meant: str


class Case(TypedDict):
    """A code, read. `newer` counts the findings that this version does not know."""

    code: str
    drive: str
    place: str
    findings: "list[Said]"
    newer: int
    mended: "list[Mended]"


def encode(drive: str, place: str, findings: "list[Said]", table: "Table") -> str:
    """The code of a case, without spaces.

    Raises:
        ValueError: the table does not know a key, or the case is too long.
    """
    numbered = [_numbered(said, table) for said in findings]
    numbered.sort(key=lambda item: item["number"])
    states = [item["state"] for item in numbered]
    alike = all(state == states[0] for state in states)
    any_weights = any(item["weights"] for item in numbered)
    bits = Writer()
    bits.fixed(FORMAT, WIDTH)
    bits.number(_number(table["drives"], drive, "drive"), 1)
    bits.number(_number(table["places"], place, "place"), 1)
    bits.fixed(1 if alike else 0, 1)
    if alike:
        bits.number(states[0] if states else 0, 0)
    bits.fixed(1 if any_weights else 0, 1)
    bits.number(len(numbered), 3)
    before = -1
    for item in numbered:
        if item["number"] == before:
            raise ValueError("A finding stands twice in this case.")
        bits.number(item["number"] - before - 1, 2)
        before = item["number"]
        bits.number(item["outcome"], 0)
        if not alike:
            bits.number(item["state"], 0)
        if any_weights:
            _write_weights(bits, item["weights"])
    return checked_text.write(bits.symbols(WIDTH))


def decode(text: str, table: "Table") -> Case:
    """The case in a text, however it was typed; the message around it may end with a colon.

    Raises:
        ValueError: it is no case code, or more of it is wrong than can be located; the sentence says where.
    """
    read = checked_text.characters(text)
    symbols, code = checked_text.symbols_of(read)
    case = _case(Reader(symbols, WIDTH), table)
    case["code"] = code
    case["mended"] = [
        {"at": at + 1, "read": read[at], "meant": code[at]} for at in range(len(code)) if read[at] != code[at]
    ]
    return case


def _numbered(said: "Said", table: "Table") -> "dict[str, Any]":
    keys = [item["key"] for item in table["findings"]]
    number = _number(keys, said["finding"], "finding")
    outcomes = table["findings"][number]["outcomes"]
    weights = said["weights"]
    for key in weights:
        _number(outcomes, key, f"outcome of {said['finding']}")
    return {
        "number": number,
        "outcome": _number(outcomes, said["outcome"], f"outcome of {said['finding']}"),
        "state": _number(table["states"], said["state"], "state of assembly"),
        "weights": _parts([weights.get(key, 0.0) for key in outcomes]) if weights else [],
    }


def _number(keys: "list[str]", key: str, what: str) -> int:
    if key not in keys:
        raise ValueError(f"A case code has no number for the {what} “{key}”.")
    return keys.index(key)


def _parts(weights: "list[float]") -> "list[int]":
    """Weights in steps of the largest; what is possible at all stays possible."""
    most = max(weights)
    if not most > 0 or min(weights) < 0:
        raise ValueError("Weights are likelihoods: none below 0, and one above.")
    while weights[-1] == 0:
        weights = weights[:-1]
    return [max(int(STEPS * weight / most + 0.5), 1) if weight > 0 else 0 for weight in weights]


def _write_weights(bits: "Writer", weights: "list[int]") -> None:
    bits.fixed(1 if weights else 0, 1)
    if weights:
        bits.number(len(weights) - 1, 1)
        for weight in weights:
            bits.fixed(weight, 10)


def _case(bits: "Reader", table: "Table") -> Case:
    if bits.fixed(WIDTH) != FORMAT:
        raise ValueError(NEWER)
    drive, place = _key(table["drives"], bits.number(1)), _key(table["places"], bits.number(1))
    alike = bits.fixed(1)
    state = bits.number(0) if alike else 0
    any_weights, count = bits.fixed(1), bits.number(3)
    found: list[Said] = []
    newer, number = 0, -1
    for _ in range(count):
        number += 1 + bits.number(2)
        outcome = bits.number(0)
        seen = state if alike else bits.number(0)
        weights = _read_weights(bits) if any_weights and bits.fixed(1) else []
        said = _said(table, number, outcome, seen, weights)
        if said is None:
            newer += 1
        else:
            found.append(said)
    rest = bits.rest()
    if len(rest) >= WIDTH or any(rest):
        raise ValueError(NEWER)
    return {"code": "", "drive": drive, "place": place, "findings": found, "newer": newer, "mended": []}


def _key(keys: "list[str]", number: int) -> str:
    if number >= len(keys):
        raise ValueError(NEWER)
    return keys[number]


def _read_weights(bits: "Reader") -> "list[int]":
    return [bits.fixed(10) for _ in range(bits.number(1) + 1)]


def _said(table: "Table", number: int, outcome: int, state: int, weights: "list[int]") -> "Said | None":
    """The finding in words of this version, None if it is newer."""
    if number >= len(table["findings"]):
        return None
    outcomes = table["findings"][number]["outcomes"]
    if max(outcome, len(weights) - 1) >= len(outcomes) or state >= len(table["states"]):
        return None
    return {
        "finding": table["findings"][number]["key"],
        "outcome": outcomes[outcome],
        "state": table["states"][state],
        "weights": {outcomes[n]: weight / STEPS for n, weight in enumerate(weights) if weight},
    }
