"""Bolts as a drawing: where each stands and when its turn is, as numbers for an SVG of 200 by 200."""

from math import pi, sin, sqrt
from typing import TypedDict

from pwa.engine.bolts import fasteners

KINDS = [
    {"key": "cross", "label": "Cross"},
    {"key": "circle", "label": "Round and round"},
    {"key": "spiral", "label": "A row, from the middle outwards"},
]
MOST = 36
LARGEST = 15.0  # radius of a drawn bolt; more bolts are drawn smaller, so that none covers another
FLANGE = 92.0


class Bolt(TypedDict):
    """Where a bolt stands, and when its turn is, from 1."""

    bolt: int
    turn: int
    x: str
    y: str


class Drawing(TypedDict):
    count: int
    kind: str  # in words
    flange: str  # its radius, "" for a row
    size: str
    font: str
    bolts: "list[Bolt]"


def drawing(count: int, kind: str) -> Drawing:
    """The bolts in the order in which they are tightened."""
    order = fasteners.pattern(count, kind)
    in_row = kind == "spiral"
    places = fasteners.in_row(count) if in_row else fasteners.positions(count)
    ring = 84.0 if in_row else 72.0 if count <= 12 else 80.0
    size = min(LARGEST, 0.45 * _apart(count, ring, in_row))
    bolts: list[Bolt] = []
    for turn in range(count):
        x, y = places[order[turn] - 1]
        bolts.append({"bolt": order[turn], "turn": turn + 1, "x": f"{ring * x:.1f}", "y": f"{ring * y:.1f}"})
    return {
        "count": count,
        "kind": "".join([item["label"] for item in KINDS if item["key"] == kind]),
        "flange": "" if in_row else f"{FLANGE:.0f}",
        "size": f"{size:.1f}",
        "font": f"{1.07 * size:.1f}",
        "bolts": bolts,
    }


def _apart(count: int, ring: float, in_row: bool) -> float:
    """Between the middles of the two bolts that stand closest."""
    if count == 1:
        return 2 * ring
    if not in_row:
        return 2 * ring * sin(pi / count)
    step, across = 2 * ring / (count - 1), ring / 2
    return min(2 * step, sqrt(step * step + across * across))
