"""What was done and how it was proved: repairs, torque sheets and their bolts, proofs."""

from typing import TYPE_CHECKING

from pwa.app.content import name_of
from pwa.app.kinds.names import with_note
from pwa.app.kinds.shape import (
    Choice,
    Kind,
    List,
    Maybe,
    Number,
    Shape,
    Whole,
    key,
    line,
    needed,
    optional,
    text,
    truth,
)

if TYPE_CHECKING:
    from pwa.app.kinds.data import Fastener, Proof, Repair, Torque
    from pwa.app.protocol import Content

PASSED, FAILED = "passed", "failed"

ORDERS = ("cross", "circle", "spiral")  # of tightening
MOST_BOLTS = 100
torque = Number("N·m", 0, 1e5)
length = Number("m", 0, 10)
turn = Number("°", 0, 720)


def _repair(data: "Repair", content: "Content") -> str:
    return with_note(name_of(content["repairs"], data["repair"]), data.get("note", ""))


def _fastener(data: "Fastener", content: "Content") -> str:
    place = name_of(content["fasteners"], data["place"])
    further = data.get("turn")
    turned = f" and {further:g}°" if further else ""
    return f"{place}: {data['count']} × {data['torque']:.1f} N·m{turned} ({data['source']})"


def _torque(data: "Torque", content: "Content") -> str:
    turned = data.get("turned")
    further = "" if turned is None else f" and {turned:g}°"
    return f"no. {data['bolt']}: {data['actual']:.1f} N·m{further}"


def _proof(data: "Proof", content: "Content") -> str:
    name = name_of(content["proofs"], data["proof"])
    if not applies(data):
        return with_note(f"{name}: does not apply", data.get("note", ""))
    value = f" {data['value']} {data.get('unit', '')}".rstrip() if data.get("value") else ""
    held = ", " + data["against"] if data.get("against") else ""
    return with_note(f"{name}: {data['result']}{value}{held}", data.get("note", ""))


def applies(data: "Proof") -> bool:
    """Whether the proof has a place in this job; older versions show one that does not as failed."""
    return data.get("applies", True)


KINDS = [
    Kind(
        "repair",
        "Repair:",
        _repair,
        "Repair",
        [needed("repair", key), optional("note", text)],
        subject=("repair",),
    ),
    Kind(
        "fastener",
        "Torque sheet:",
        _fastener,
        "Torque",
        [
            needed("place", key),
            needed("count", Whole(1, MOST_BOLTS)),
            needed("kind", Choice(ORDERS)),
            needed("torque", torque),
            needed("typed", line),
            needed("unit", key),
            needed("source", line),
            needed("wrench", Maybe(length)),
            needed("extension", Maybe(length)),
            needed("angle", Maybe(turn)),
            needed("setting", torque),  # of the wrench with its extension
            # What the sheets of older versions lack.
            optional("stages", List(torque, 0, 20)),
            optional("turn", Maybe(turn)),
            optional(
                "bolt",
                Shape(
                    "Bolt",
                    [
                        optional("diameter", length),
                        optional("pitch", length),
                        optional("per_inch", Number("1/m", 0, None)),
                        optional("strength", key),
                        optional("meant", key),
                        optional("surface", key),
                    ],
                ),
            ),
        ],
        subject=("place",),
    ),
    Kind(
        "torque",
        "Torqued:",
        _torque,
        "Torque",
        [
            needed("fastener", key),  # the record of its sheet
            needed("bolt", Whole(1, MOST_BOLTS)),
            needed("actual", torque),
            optional("typed", line),
            optional("turned", Maybe(turn)),
        ],
        subject=("fastener", "bolt"),
    ),
    Kind(
        "proof",
        "Proof:",
        _proof,
        "Proof",
        [
            needed("proof", key),
            needed("result", Choice((PASSED, FAILED))),
            optional("value", text),
            optional("unit", key),
            optional("note", text),
            optional("applies", truth),
            optional("against", line),  # what the value was held against, in words
        ],
        subject=("proof",),
    ),
]
