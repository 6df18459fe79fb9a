"""What was seen and decided on the fault: codes, findings, checks put off, causes."""

from typing import TYPE_CHECKING

from pwa.app.content import find, name_of
from pwa.app.kinds.names import check_name, outcome_label, with_note
from pwa.app.kinds.shape import (
    KEY,
    TEXT,
    Choice,
    Kind,
    List,
    Maybe,
    Number,
    Table,
    Text,
    Whole,
    key,
    line,
    needed,
    optional,
    text,
)
from pwa.engine.evidence.truck import APART, HOUSING

if TYPE_CHECKING:
    from pwa.app.kinds.data import Cause, Code, Finding, Skipped, StopLifted
    from pwa.app.protocol import Content

NAMED, EXCLUDED, LEFT_OPEN = "named", "excluded", "left open"
DECISIONS = (NAMED, EXCLUDED, LEFT_OPEN)
NOT_FOUND = "not-found"  # in place of a cause: no fault was found


def _code(data: "Code", content: "Content") -> str:
    return data["key"] or data["typed"]


def _finding(data: "Finding", content: "Content") -> str:
    name = name_of(content["findings"], data["finding"])
    names = ", ".join([name_of(content["openings"], key) for key in seen_open(data)])
    where = f", seen with: {names}" if names else ""
    said = f"{name}: {outcome_label(content, data['finding'], data['outcome'])}{where}"
    return with_note(said, data.get("note", ""))


def seen_open(data: "Finding") -> "list[str]":
    """What was open when it was seen; an older note says the state of assembly alone."""
    opened = data.get("opened")
    return opened if opened is not None else [HOUSING] if data.get("state") == APART else []


def _skipped(data: "Skipped", content: "Content") -> str:
    return f"{check_name(content, data['finding'])}: {data.get('reason', '')}"


def _cause(data: "Cause", content: "Content") -> str:
    if data["cause"] == NOT_FOUND:
        return with_note("no fault was found", data["reason"])
    return with_note(f"{name_of(content['causes'], data['cause'])}: {data['decision']}", data["reason"])


def _lifted(data: "StopLifted", content: "Content") -> str:
    known = find(content["stops"], data["stop"])
    return f"{known['title'] if known else data['stop']}: {data['how']}"


KINDS = [
    Kind(
        "code",
        "Code:",
        _code,
        "Codes",
        [
            needed("typed", Text(5 * TEXT)),  # the frames of a whole message, perhaps
            needed("key", key),  # "641/7" or "P0299"
            needed("kind", Choice(("j1939", "j2012"))),
            needed("spn", Maybe(Whole(0, 524_287))),  # SAE J1939-73: 19 bits
            needed("fmi", Maybe(Whole(0, 31))),
            optional("occurrences", Maybe(Whole(0, 127))),
            optional("lamps", List(line, 0, 8)),
            optional("candidates", List(Whole(0, 524_287), 0, 8)),
            optional("failure", Maybe(Whole(0, 255))),
            optional("message", key),
            optional("source", Maybe(Whole(0, 255))),
            optional("status", Choice(("active", "stored"))),  # as somebody said who typed it
            optional("about", key),  # the system that a code is about which content did not know
        ],
        alone="A display shows many codes; the same one read twice is two readings.",
    ),
    Kind(
        "finding",
        "Found:",
        _finding,
        "Found",
        [
            needed("finding", key),
            needed("outcome", key),
            optional("by", line),
            optional("state", line),
            optional("opened", List(key, 0, 200)),
            optional("weights", Table(Number("1", 0, 1), KEY)),
            optional("note", text),
        ],
        subject=("finding",),
        says=("outcome",),
    ),
    Kind(
        "skipped",
        "Skipped:",
        _skipped,
        "Found",
        [needed("finding", key), optional("reason", line), optional("place", line)],
        subject=("finding",),
        says=(),
    ),
    Kind(
        "stop-lifted",
        "Stop lifted:",
        _lifted,
        "Found",
        [needed("stop", key), needed("how", text), needed("seen", List(key, 0, 200))],
        subject=("stop",),
        says=(),
    ),
    Kind(
        "cause",
        "Cause:",
        _cause,
        "Causes",
        [needed("cause", key), needed("decision", Choice(DECISIONS)), needed("reason", text)],
        subject=("cause",),
        says=("decision",),
    ),
]
