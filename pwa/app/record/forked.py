"""A phone whose storage was restored from an old backup goes on as a new device.

Its numbers were used before: the server holds other records under them, written after the backup was made.
Those stay as they are and come back to the phone as another device's. What the phone wrote since the backup
carries numbers and hashes that fit nowhere now, so the new device writes it again: the same time, clock, job,
kind and fields, with new ids wherever an old one of these stood. Each record replaces the text that it was
made from, in case a file took that one somewhere. The new device says its name last.
"""

import json
from typing import TYPE_CHECKING, TypedDict

from pwa.app.record import authors, chain

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Device, Record


class End(TypedDict):
    """Of a device's chain as the server has it."""

    seq: int
    head: str


class Forked(TypedDict):
    """The new device after its `records`: texts that stand for those given, in their order, and its name."""

    records: "list[str]"
    device: "Device"


def is_restored(here: "End", text: str) -> bool:
    """Whether the server's end of this phone's chain, its number and hash, is not in the phone's own chain.

    `text` is the record that the phone itself has under that number, "" if it has none.
    """
    return not text or chain.link(text) != here["head"]


def fork(texts: "list[str]", device: "Device", new_id: str, random: str) -> Forked:
    """Write records that only this phone has, in the order of its chain, as the first ones of a new device.

    `random` needs 20 hex digits a record, and 20 for the name.
    """
    old = [json.loads(text) for text in texts]
    ids = {}
    for index, record in enumerate(old):
        ids[record["id"]] = chain.uuid7(record["time"], random[20 * index : 20 * index + 20])
    head, made, new = "", [], []
    for index, record in enumerate(old):
        new.append(_rewritten(record, ids, new_id, index + 1, head))
        text = json.dumps(new[-1])
        head = chain.digest(text)
        made.append(text)
    copy: Device = {
        "id": new_id,
        "name": device["name"],
        "seq": len(made),
        "head": head,
        "clock": device["clock"],
    }
    now, _ = chain.read_clock(device["clock"])
    named, copy = chain.seal(authors.Authors(new).own(copy), copy, now, random[-20:], "")
    return {"records": made + named, "device": copy}


def _rewritten(record: "Record", ids: "dict[str, str]", device: str, seq: int, head: str) -> "Record":
    new = record.copy()  # with the fields that this version does not know
    replaced = [ids.get(item, item) for item in record["replaces"]]
    new["id"], new["device"], new["seq"], new["prev"] = ids[record["id"]], device, seq, head
    if record["author"] == chain.nameless(record["device"]):
        new["author"] = chain.nameless(device)
    new["replaces"] = (replaced + [record["id"]])[-chain.MOST_REPLACED :]
    new["data"] = _mapped(record["data"], ids)
    new["data"].pop("seen", None)  # of a closing: it names devices and numbers that are no more
    return new


def _mapped(value: "Any", ids: "dict[str, str]") -> "Any":
    """The same value; wherever it is the id of a rewritten record (of a torque sheet, say), the new id."""
    if isinstance(value, dict):
        return {key: _mapped(value[key], ids) for key in value}
    if isinstance(value, list):
        return [_mapped(item, ids) for item in value]
    return ids.get(value, value) if isinstance(value, str) else value
