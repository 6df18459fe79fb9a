"""Whether records that came in a file may be kept: as strict as the shop's server is with phones."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.record import verbatim
from pwa.app.record.chain import link

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Device, Record

ALTERED = "It does not follow the entry before it in its device's chain: one of the two was changed."
AHEAD = "This phone wrote it itself, but has forgotten it. Take the file in at the desk."


class Judged(TypedDict):
    """A sentence for each text, "" for one to keep; `last` is the number and hash of each device's newest."""

    refused: "list[str]"
    last: "dict[str, list[Any]]"


def judge(texts: "list[str]", device: "Device", last: "dict[str, list[Any]]") -> Judged:
    """Judge texts in the order of each device's chain; `last` is what the call before returned, or {}."""
    refused = []
    for text in texts:
        record, wrong = verbatim.judge(text)
        if not wrong:
            wrong = _wrong_place(record, device, last)
            if not wrong:
                last[record["device"]] = [record["seq"], link(text)]
        refused.append(wrong)
    return {"refused": refused, "last": last}


def _wrong_place(record: "Record", device: "Device", last: "dict[str, list[Any]]") -> str:
    if record["device"] == device["id"] and record["seq"] > device["seq"]:
        return AHEAD
    seq, newest = last.get(record["device"], [0, ""])
    return ALTERED if record["seq"] == seq + 1 and record["prev"] != newest else ""
