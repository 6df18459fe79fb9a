"""Up to which entry each device has signed what it wrote, so that a printed report can be proven later."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import when

if TYPE_CHECKING:
    from pwa.app.protocol import SignedHead
    from pwa.app.visit import Visit

GROUP, SHOWN = 4, 16  # hex digits of a hash: read out in fours, enough to tell it from any other


class Signed(TypedDict):
    upto: int
    head: str  # the first digits of its hash
    at: str
    received: str  # when the shop countersigned it


class Proof(TypedDict):
    """Of one device that wrote in the job; `newest` is the number of its last entry here."""

    name: str
    device: str
    newest: int
    own: bool  # it is the one that asks
    signed: "Signed | None"
    whole: bool  # all that it wrote here is signed


def of(visit: "Visit") -> "list[Proof]":
    heads, zone = visit.request["status"].get("heads", {}), visit.request["zone"]
    newest: dict[str, int] = {}
    for record in visit.records:
        newest[record["device"]] = max(newest.get(record["device"], 0), record["seq"])
    return [
        {
            "name": visit.authors.name(device),
            "device": device,
            "own": device == visit.request["device"]["id"],
            "newest": newest[device],
            "signed": _signed(heads[device], zone) if device in heads else None,
            "whole": device in heads and heads[device]["seq"] >= newest[device],
        }
        for device in sorted(newest)
    ]


def _signed(head: "SignedHead", zone: int) -> Signed:
    digits = head["head"]
    return {
        "upto": head["seq"],
        "head": " ".join([digits[at : at + GROUP] for at in range(0, SHOWN, GROUP)]),
        "at": when.local(head["time"], zone),
        "received": when.local(head["received"], zone),
    }
