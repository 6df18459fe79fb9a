"""Thins a signal out for a picture, so that no spike is lost."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def thin(
    times: "Sequence[float]",
    values: "Sequence[float]",
    columns: int,
    start: "float | None" = None,
    end: "float | None" = None,
) -> "list[list[float]]":
    """Points [time, value] of a line over `columns` of pixels: of each its least and its greatest value.

    Both stand at the time they have, so the line runs through them as the signal did. Of a part from `start`
    to `end` the neighbours outside are kept too, or a line that enters or leaves the picture would be cut.
    `times` must not fall. Time that it takes grows with the columns; values are compared by the
    interpreter's own code.

    Raises:
        ValueError: no columns, or an end before the start.
    """
    count = len(times)
    if columns < 1:
        raise ValueError("A picture has at least one column.")
    if not count:
        return []
    low = times[0] if start is None else start
    high = times[count - 1] if end is None else end
    if high < low:
        raise ValueError("The end is before the start.")
    first, last = _place(times, low, 0), _place(times, high, 0)
    while last < count and times[last] <= high:
        last += 1
    first, last = max(0, first - 1), min(count, last + 1)
    if last - first <= 2 * columns:
        return [[times[index], values[index]] for index in range(first, last)]
    points: list[list[float]] = []
    at = first
    for column in range(1, columns + 1):
        upto = last if column == columns else _place(times, low + (high - low) * column / columns, at)
        if upto > at:
            points += _extremes(times, values, at, upto)
        at = max(at, upto)
    return points


def _extremes(times: "Sequence[float]", values: "Sequence[float]", at: int, upto: int) -> "list[list[float]]":
    part = list(values[at:upto])
    least, most = part.index(min(part)), part.index(max(part))
    places = [least] if least == most else [min(least, most), max(least, most)]
    return [[times[at + place], part[place]] for place in places]


def _place(times: "Sequence[float]", time: float, low: int) -> int:
    """The first place from `low` on whose time is not before this one."""
    high = len(times)
    while low < high:
        middle = (low + high) // 2
        if times[middle] < time:
            low = middle + 1
        else:
            high = middle
    return low
