"""Trouble codes from what a technician types: J1939-73 messages and pairs, J2012 codes.

Source: SAE J1939-73 (layout of the messages, conversion methods).
"""

import re
from typing import TypedDict

from pwa.engine.codes import frames, j2012, transport

FORMS = "Type a pair such as 641/7, a code such as P0299, or the bytes of a DM1 message."
SHORT = "A DM1 message has at least 6 bytes: two of lamps and four for each code."
NAMES = {65226: "DM1", 65227: "DM2"}  # PGN of the codes active now, and of those that were
LAMPS = (("malfunction", 6), ("stop", 4), ("warning", 2), ("protect", 0))
LAMP_STATES = ("off", "on", "error", "not available")
FLASHES = ("slow flash", "fast flash", "reserved", "")
NOT_COUNTED = 127  # an occurrence count that the sender does not have
HIGHEST_SPN = 524287


class Code(TypedDict):
    """One code. `candidates` holds every SPN the bytes may mean (an old conversion method)."""

    kind: str  # "j1939" or "j2012"
    key: str  # "641/7" or "P0299"
    spn: "int | None"
    fmi: "int | None"
    occurrences: "int | None"  # None when unknown
    lamps: "list[str]"
    candidates: "list[int]"
    failure: "int | None"  # third byte of a J2012 code, if the display shows it


class Dm1(TypedDict):
    """A decoded DM1 or DM2 message: lamp name -> state, and the codes in the order sent."""

    lamps: "dict[str, str]"
    codes: "list[Code]"


class Report(TypedDict):
    """Codes and where they come from: `message` "DM1" (active), "DM2" (were active), "" when nobody said."""

    message: str
    source: "int | None"  # address of the sender
    lamps: "dict[str, str]"
    codes: "list[Code]"


class Reports(TypedDict):
    """What was read, and a sentence on each message that could not be."""

    reports: "list[Report]"
    problems: "list[str]"


def read(text: str) -> "list[Code]":
    """Every code in what was typed: one or several, as pairs, J2012 codes, bytes of a message, or frames.

    Raises:
        ValueError: nothing in it is a code.
    """
    return [code for report in reports(text)["reports"] for code in report["codes"]]


def reports(text: str) -> Reports:
    """As `read`, with lamps and senders where the text has them; each message of frames once.

    Raises:
        ValueError: nothing in it is a code or a message of codes.
    """
    taken = frames.read(text)
    # Eight digits and bytes are a frame only if the identifier is one of codes, or the text marks it as one.
    if taken and ("#" in text or "[" in text or any(_carries_codes(frame) for frame, _ in taken)):
        return _framed(taken)
    typed = " ".join(text.upper().split())
    lines = text.upper().replace(";", "\n").split("\n")
    words = typed.replace(",", " ").split()
    for parts in (
        words if all(j2012.is_code(word) for word in words) else [typed],
        lines,
        typed.split(","),
        words,
    ):
        found = [_single(" ".join(part.split()), len(parts) == 1) for part in parts if part.strip()]
        if found and all(report is not None for report in found):
            return {"reports": [report for report in found if report is not None], "problems": []}
    raise ValueError(f"“{text.strip()}” is no code known here. {FORMS}" if typed else FORMS)


def decode_dm1(payload: "list[int]") -> Dm1:
    """Lamps and codes of a DM1 or DM2 payload, joined from its frames if it had several (J1939-73).

    The payload is two lamp bytes and four bytes a code; bytes of filling (255) may follow a single one, and
    the last of several frames.
    "No code" is sent as all zeros or, in an older form, all ones; both give none.

    Raises:
        ValueError: fewer than 6 bytes, a value that is no byte, or a last code that is cut.
    """
    if any(not 0 <= value <= 255 for value in payload):
        raise ValueError("Each byte is from 0 to 255 (hex 00 to FF).")
    if len(payload) < 6:
        raise ValueError(SHORT)
    body = payload[2:]
    over = len(body) % 4
    # Only whole frames are filled up: elsewhere bytes left over belong to a code that is cut.
    if over and (len(payload) == 8 or len(payload) % 7 == 0) and body[-over:] == [255] * over:
        body = body[:-over]
    if len(body) % 4:
        raise ValueError(f"{len(body) % 4} bytes are left over: the message is cut or has bytes too many.")
    lamps = {name: _lamp(payload[0], payload[1], shift) for name, shift in LAMPS}
    lit = [name for name, _ in LAMPS if lamps[name].startswith("on")]
    groups = [body[start : start + 4] for start in range(0, len(body), 4)]
    codes = [_dtc(group, lit) for group in groups if group not in ([0, 0, 0, 0], [255, 255, 255, 255])]
    return {"lamps": lamps, "codes": codes}


def encode_dtc(spn: int, fmi: int, occurrences: int = NOT_COUNTED) -> "list[int]":
    """The four bytes of a code in the current conversion method (J1939-73, version 4).

    Raises:
        ValueError: SPN above 524287, FMI above 31 or count above 127.
    """
    _check(spn, fmi)
    if not 0 <= occurrences <= NOT_COUNTED:
        raise ValueError("An occurrence count is from 0 to 126, or 127 for unknown.")
    return [spn & 0xFF, spn >> 8 & 0xFF, spn >> 11 & 0xE0 | fmi, occurrences]


def _carries_codes(identifier_text: str) -> bool:
    pgn = frames.identifier(identifier_text)["pgn"]
    return pgn in NAMES or pgn in (transport.MANAGEMENT, transport.TRANSFER)


def _framed(taken: "list[tuple[str, list[int]]]") -> Reports:
    """What the messages of codes in some frames say; a message that is repeated, once."""
    joined = transport.join([(frames.identifier(text), data) for text, data in taken])
    found: list[Report] = []
    problems = joined["problems"]
    for message in joined["messages"]:
        name = NAMES.get(message["pgn"])
        if name is None:
            continue
        try:
            decoded = decode_dm1(message["payload"])
        except ValueError as error:
            problems.append(f"{name} from address {message['source']}: {error}")
            continue
        report = _report(decoded["codes"], name, message["source"], decoded["lamps"])
        if report not in found:
            found.append(report)
    if not found:
        raise ValueError(" ".join(["No whole DM1 or DM2 message is in these frames."] + problems))
    return {"reports": found, "problems": problems}


def _single(typed: str, alone: bool) -> "Report | None":
    """The report of one code or one message, None when it is none; says why only if it stands `alone`."""
    # An SPN alone must not be cut in two: something has to stand between the two numbers.
    pair = re.match(r"^(SPN)?[ :]*(\d+)([ /\-,:;]*FMI[ :]*|[ /\-,:;]+)(\d+)$", typed)
    payload = frames.numbers(typed)
    if j2012.is_code(typed):
        return _report([_j2012(typed)])
    typed_failure = j2012.split(typed)
    if typed_failure:
        return _report([_j2012(typed_failure[0], typed_failure[1])])
    if typed.startswith("0X") and len(payload) in (2, 3):
        code = j2012.from_bytes(payload[0], payload[1])
        return _report([_j2012(code, payload[2] if len(payload) == 3 else None)] if code else [])
    if len(payload) >= 6:
        decoded = decode_dm1(payload)
        return _report(decoded["codes"], lamps=decoded["lamps"])
    if pair:
        return _report([_j1939(int(pair.group(2)), int(pair.group(4)), None, [], None)])
    if alone and re.match(r"^(SPN)?[ :]*\d+$", typed) and len(typed.replace(" ", "")) < 10:
        raise ValueError("An SPN alone is half a code. Type its FMI behind it, such as 641/7.")
    if alone and payload:
        raise ValueError(SHORT)
    return None


def _report(
    codes: "list[Code]", message: str = "", source: "int | None" = None, lamps: "dict[str, str] | None" = None
) -> Report:
    return {"message": message, "source": source, "lamps": lamps or {}, "codes": codes}


def _dtc(group: "list[int]", lit: "list[str]") -> Code:
    first, second, third, fourth = group
    count = fourth & 0x7F
    spn = first | second << 8 | (third & 0xE0) << 11
    candidates = None
    if fourth & 0x80:  # one of three older layouts, which the bytes alone cannot tell apart
        candidates = [spn, first << 11 | second << 3 | third >> 5, second << 11 | first << 3 | third >> 5]
    return _j1939(spn, third & 0x1F, None if count == NOT_COUNTED else count, lit, candidates)


def _j1939(
    spn: int, fmi: int, occurrences: "int | None", lamps: "list[str]", candidates: "list[int] | None"
) -> Code:
    _check(spn, fmi)
    return {
        "kind": "j1939",
        "key": f"{spn}/{fmi}",
        "spn": spn,
        "fmi": fmi,
        "occurrences": occurrences,
        "lamps": lamps,
        "candidates": candidates or [spn],
        "failure": None,
    }


def _j2012(code: str, failure: "int | None" = None) -> Code:
    return {
        "kind": "j2012",
        "key": code,
        "spn": None,
        "fmi": None,
        "occurrences": None,
        "lamps": [],
        "candidates": [],
        "failure": failure,
    }


def _check(spn: int, fmi: int) -> None:
    if not 0 <= spn <= HIGHEST_SPN:
        raise ValueError(f"An SPN is from 0 to {HIGHEST_SPN}, not {spn}.")
    if not 0 <= fmi <= 31:
        raise ValueError(f"An FMI is from 0 to 31, not {fmi}.")


def _lamp(status: int, flash: int, shift: int) -> str:
    state = LAMP_STATES[status >> shift & 3]
    flashing = FLASHES[flash >> shift & 3] if state == "on" else ""
    return f"{state}, {flashing}" if flashing else state
