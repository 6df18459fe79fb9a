"""A chart as whole numbers a template can draw: lines, a grid, words.

Coordinates are tenths of the width's 360 parts, so that both interpreters write them alike.
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.numbers.rounding import four_digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    Points = Sequence[Sequence[float]]

WIDTH = 3600
LEFT, RIGHT, TOP, BOTTOM = 520, 60, 90, 260  # around the field that is drawn in
TALL, SQUARE = 1700, 3300  # the whole height of a chart over time, and of one value over another
COLUMNS = (WIDTH - LEFT - RIGHT) // 10  # parts of the width, each drawn with its least and its greatest value
FLAT = 0.02  # of the value; less change than that is drawn flat


class Mark(TypedDict):
    """A line of the grid with its number."""

    at: int
    label: str


class Line(TypedDict):
    mark: str  # "broad" or "fine"
    points: str  # "x,y x,y"


class Chart(TypedDict):
    width: int
    height: int
    left: int
    top: int
    right: int
    bottom: int
    middle: int
    lines: "list[Line]"
    across: "list[Mark]"
    up: "list[Mark]"


def draw(lines: "Sequence[Points]", start: float, end: float, height: int = TALL) -> Chart:
    """The chart of one or two lines between two places of the horizontal scale.

    The vertical scale is that of what is shown, but noise alone does not fill it. The first of two lines is
    drawn broad, the second fine over it: the two are told apart without colour.
    """
    shown = [point[1] for line in lines for point in line if start <= point[0] <= end]
    shown = shown or [point[1] for line in lines for point in line] or [0.0]
    low, high = min(shown), max(shown)
    floor = FLAT * max(abs(low), abs(high), 1.0)
    if high - low < floor:
        low, high = (low + high - floor) / 2, (low + high + floor) / 2
    margin = (high - low) / 20
    low, high = low - margin, high + margin
    right, bottom = WIDTH - RIGHT, height - BOTTOM
    across = _scale(start, end, LEFT, right)
    up = _scale(low, high, bottom, TOP)
    many = 5 if height == TALL else 6
    marks = ["broad", "fine"] if len(lines) == 2 else ["fine"]
    return {
        "width": WIDTH,
        "height": height,
        "left": LEFT,
        "top": TOP,
        "right": right,
        "bottom": bottom,
        "middle": (LEFT + right) // 2,
        "lines": [
            {"mark": mark, "points": " ".join([f"{_place(x, across)},{_place(y, up)}" for x, y in line])}
            for mark, line in zip(marks, lines)
        ],
        "across": _marks(start, end, many, across),
        "up": _marks(low, high, many, up),
    }


def _scale(low: float, high: float, first: int, last: int) -> "tuple[float, float]":
    """Factor and offset from a value to its place."""
    factor = (last - first) / (high - low) if high > low else 0.0
    return factor, first - factor * low


def _place(value: float, scale: "tuple[float, float]") -> int:
    # Far outside is clipped anyway, and a browser draws badly with huge numbers.
    return math.floor(min(max(scale[0] * value + scale[1], -WIDTH), 2 * WIDTH) + 0.5)


def _marks(low: float, high: float, most: int, scale: "tuple[float, float]") -> "list[Mark]":
    """Round numbers between two, at most so many."""
    if high <= low:
        return []
    step = _round_up((high - low) / most)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [
        {"at": _place(index * step, scale), "label": four_digits(index * step)}
        for index in range(first, last + 1)
    ]


def _round_up(step: float) -> float:
    """1, 2 or 5 times a power of ten, not less than `step`."""
    power = 10.0 ** math.floor(math.log10(step))
    for factor in (1, 2, 5):
        if factor * power >= step * (1 - 1e-9):
            return factor * power
    return 10 * power
