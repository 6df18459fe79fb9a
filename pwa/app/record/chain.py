"""Records: sealing new ones, and putting any set of them in one order.

A record is its text: the JSON that its device wrote, byte for byte. Hosts store, send and hash that text
and never write it anew, so a hash needs no canonical form and unknown fields survive every hop. In a
device's chain each record carries the SHA-256 of the one before it, so a gap or an edit shows.

Sources: UUIDv7, RFC 9562 section 5.7; hybrid logical clock, Kulkarni et al. 2014, figure 5.
"""

import binascii
import hashlib
import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import Drafter
    from pwa.app.protocol import Device, Draft, Record, Row

SCHEMA = 1  # of the record itself; a reader keeps fields it does not know
SHORT = 4  # characters of a device's id that people are shown
WITHDRAWN = "withdrawn"  # a field that only remains have: the hash of what was written (record/remains.py)
# A clock is 15 digits of ms, a point and 7 of a counter. One after this is nobody's: it moves no other clock.
LAST = 4_102_444_800_000  # 2100-01-01, in ms since 1970
MOST_REPLACED = 1000  # by one record
MOST_COUNTED = 9_999_999  # with one ms


def _draft(job: str, kind: str, data: "Any", replaces: "list[str] | None" = None) -> "Draft":
    return {"job": job, "kind": kind, "data": data, "replaces": replaces or []}


draft: "Drafter" = _draft  # which knows what each kind's data holds (kinds/data.pyi)


def again(record: "Record", data: "Any", replaces: "list[str]") -> "Draft":
    """The same kind of record in the same job, with other data."""
    return {"job": record["job"], "kind": record["kind"], "data": data, "replaces": replaces}


def uuid7(now: int, random: str) -> str:
    """A UUIDv7 from a time in ms and at least 20 hex digits of randomness (RFC 9562, section 5.7)."""
    variant = "89ab"[int(random[3], 16) & 3]
    digits = f"{now & 0xFFFFFFFFFFFF:012x}7{random[:3]}{variant}{random[4:19]}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def tick(clock: str, now: int) -> str:
    """The next clock of a device whose newest known clock is `clock`; text order is time order.

    Neither a clock that is none nor a phone that thinks it is in another century can make one that a door
    refuses: what is not believed is passed over.
    """
    last, count = read_clock(clock) if moves(clock) else (0, 0)
    if last < now <= LAST:
        return write_clock(now, 0)
    return write_clock(last, count + 1) if count < MOST_COUNTED else write_clock(last + 1, 0)


def moves(clock: str) -> bool:
    """Whether others go on from this clock."""
    return is_clock(clock) and read_clock(clock)[0] <= LAST


def is_clock(clock: str) -> bool:
    """Whether some `tick` wrote it: then its record may be understood."""
    if len(clock) != 23 or clock[15] != "." or not "." <= min(clock) <= max(clock) <= "9":
        return False
    return clock[:15].isdigit() and clock[16:].isdigit() and int(clock[:15]) <= LAST + 1


def newest(records: "list[Record]") -> str:
    """The newest clock among them that moves others, "" if none does."""
    return max([record["clock"] for record in records if moves(record["clock"])] + [""])


def read_clock(clock: str) -> "tuple[int, int]":
    """(ms, counter) of a clock; the empty clock is (0, 0)."""
    if not clock:
        return 0, 0
    ms, count = clock.split(".")
    return int(ms), int(count)


def write_clock(ms: int, count: int) -> str:
    return f"{ms:015d}.{count:07d}"


def digest(text: str) -> str:
    """SHA-256 of a record's text in UTF-8, as hex."""
    return binascii.hexlify(hashlib.sha256(text.encode()).digest()).decode()


def nameless(device: str, length: int = SHORT) -> str:
    """ "device 3f2a": what people call a device that they know no name of."""
    return "device " + device[:length]


def link(text: str) -> str:
    """The hash that the next record carries: a text's own, or of remains that of what was written."""
    if f'"{WITHDRAWN}"' in text:  # so that only few are parsed
        stated = json.loads(text).get(WITHDRAWN)
        return str(stated) if stated else digest(text)
    return digest(text)


def seal(
    drafts: "list[Draft]", device: "Device", now: int, random: str, newest: str
) -> "tuple[list[str], Device]":
    """Texts of the drafts as the device's next records, and the device after them.

    `newest` is the newest clock among the records the writer has just read, so that what is written
    always sorts behind what it answers. `random` needs 20 hex digits a draft.
    """
    seq, head = device["seq"], device["head"]
    clock = max([known for known in (device["clock"], newest) if moves(known)] + [""])
    texts = []
    for index, item in enumerate(drafts):
        seq, clock = seq + 1, tick(clock, now)
        text = json.dumps(
            {
                "v": SCHEMA,
                "id": uuid7(now, random[20 * index : 20 * index + 20]),
                "job": item["job"],
                "device": device["id"],
                "author": nameless(device["id"]),  # older versions show it; names: authors.py
                "seq": seq,
                "prev": head,
                "clock": clock,
                "time": now,
                "kind": item["kind"],
                "replaces": item["replaces"][-MOST_REPLACED:],
                "data": item["data"],
            }
        )
        head = digest(text)
        texts.append(text)
    return texts, {"id": device["id"], "name": device["name"], "seq": seq, "head": head, "clock": clock}


def row(text: str) -> "Row":
    """A new record as a host stores it."""
    record = json.loads(text)
    return {
        "id": record["id"],
        "job": record["job"],
        "kind": record["kind"],
        "device": record["device"],
        "seq": record["seq"],
        "text": text,
    }


def in_order(records: "list[Record]") -> "list[Record]":
    """The same records, each once, in the one order every copy agrees on: clock, then device, then seq."""
    known = {record["id"]: record for record in records}
    return sorted(known.values(), key=lambda record: (record["clock"], record["device"], record["seq"]))


def heads(records: "list[Record]") -> "list[Record]":
    """Those that no other record of the same job replaces, in the order given."""
    replaced: dict[str, set[str]] = {}
    for record in records:
        if record["replaces"]:
            replaced.setdefault(record["job"], set()).update(record["replaces"])
    nothing: set[str] = set()
    return [record for record in records if record["id"] not in replaced.get(record["job"], nothing)]
