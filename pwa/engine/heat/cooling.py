"""Newton cooling fitted to temperature readings: T(t) = Ta + D·e^(−t/τ), least squares in temperature.

With the air's temperature Ta given, D and τ are fitted; else Ta too, which needs three readings that bend.
Gauss-Newton from the best of a row of time constants, because the sum of squares has one valley along τ.
"""

import math
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    Readings = list[list[float]]  # [[s, K], ...]

ZERO = 273.15  # K
COLDEST, HOTTEST = 210.0, 1300.0  # K, what a surface of a truck can have
ROUNDS = 200
GRID = 60
SLOWEST, FASTEST = 0.02, 20.0  # of the rate 1/τ, in spans of the readings


class Fit(TypedDict):
    """K of the air, K above it at `start` s, τ in s, standard deviation of the readings around it in K."""

    ambient: float
    excess: float
    tau: float
    start: float
    scatter: float


def check(readings: "Readings", reading_u: float, ambient: "float | None" = None) -> None:
    """Refuses readings that say nothing about cooling.

    Raises:
        ValueError: fewer than two, times that do not rise, temperatures that cannot be, rise or do not fall,
            or lie below the air around.
    """
    if len(readings) < 2:
        raise ValueError("Two readings or more, some minutes apart, are needed.")
    for _, temperature in readings:
        if not COLDEST <= temperature <= HOTTEST:
            raise ValueError(f"{temperature - ZERO:.0f} °C cannot be. Check the number and its unit.")
        if ambient is not None and temperature <= ambient:
            raise ValueError(
                f"{temperature - ZERO:.0f} °C is not above the air around, {ambient - ZERO:.0f} °C: "
                "check both temperatures."
            )
    for index in range(1, len(readings)):
        earlier, later = readings[index - 1], readings[index]
        if later[0] <= earlier[0]:
            raise ValueError("Type the readings in the order they were taken, each later than the last.")
        if later[1] - earlier[1] > 3 * reading_u:
            raise ValueError(
                f"It got hotter, from {earlier[1] - ZERO:.0f} to {later[1] - ZERO:.0f} °C: heat still soaks "
                "out from inside. Wait and start the readings anew, on the same spot."
            )
    if readings[-1][1] >= readings[0][1]:
        raise ValueError("It does not cool. Wait and read again, on the same spot.")


def fit(readings: "Readings", ambient: "float | None" = None) -> Fit:
    """The law that fits the readings best.

    Raises:
        ValueError: two readings without the air's temperature, or readings that do not bend enough for it.
    """
    start, span = readings[0][0], readings[-1][0] - readings[0][0]
    points = [[(seconds - start) / span, temperature] for seconds, temperature in readings]
    if ambient is None and len(points) < 3:
        raise ValueError("Two readings do not tell the air's temperature: measure and type it.")
    rates = [SLOWEST * (FASTEST / SLOWEST) ** (index / GRID) for index in range(GRID + 1)]
    squares = [_squares(points, _linear(points, rate, ambient) + [rate]) for rate in rates]
    best = squares.index(min(squares))
    if best == 0 and ambient is not None:
        raise ValueError("It cooled too little between the readings to tell. Wait and read again.")
    if best == 0 or _linear(points, rates[best], ambient)[1] <= 0:
        raise ValueError(
            "The readings do not bend enough to tell where the cooling ends. Wait for more cooling, "
            "or measure the air and type it."
        )
    found = _descend(points, _linear(points, rates[best], ambient) + [rates[best]], ambient is not None)
    free = len(points) - (2 if ambient is not None else 3)
    if found[1] <= 0 or found[2] <= 0:
        raise ValueError("The readings do not cool towards the air around. Check them.")
    return {
        "ambient": found[0],
        "excess": found[1],
        "tau": span / found[2],
        "start": start,
        "scatter": math.sqrt(_squares(points, found) / free) if free > 0 else 0.0,
    }


def _linear(points: "Readings", rate: float, ambient: "float | None") -> "list[float]":
    """Air and excess that fit best at a rate: a straight line over e^(−rate·t)."""
    shapes = [math.exp(-rate * time) for time, _ in points]
    heights = [temperature for _, temperature in points]
    if ambient is not None:
        above = sum(shape * (height - ambient) for shape, height in zip(shapes, heights))
        return [ambient, above / sum(shape * shape for shape in shapes)]
    shape_mean, height_mean = sum(shapes) / len(points), sum(heights) / len(points)
    across = sum((shape - shape_mean) * (height - height_mean) for shape, height in zip(shapes, heights))
    slope = across / sum((shape - shape_mean) ** 2 for shape in shapes)
    return [height_mean - slope * shape_mean, slope]


def _descend(points: "Readings", law: "list[float]", fixed: bool) -> "list[float]":
    """Gauss-Newton from a law [air, excess, rate]; a step that makes it worse is halved."""
    first = 1 if fixed else 0
    for _ in range(ROUNDS):
        step = [0.0] * first + _step(points, law, first)
        worse = _squares(points, law) * (1 + 1e-9) + 1e-18
        while True:
            tried = [value + change for value, change in zip(law, step)]
            if tried[2] > 0 and _squares(points, tried) <= worse:
                break
            step = [change / 2 for change in step]
            if abs(step[2]) < 1e-15:
                return law
        law = tried
        if all(abs(change) <= 1e-14 * abs(value) for change, value in zip(step, law)):
            break
    return law


def _step(points: "Readings", law: "list[float]", first: int) -> "list[float]":
    """Solves the normal equations of the law made straight at this place."""
    size = 3 - first
    rows = [[0.0] * (size + 1) for _ in range(size)]
    for time, temperature in points:
        shape = math.exp(-law[2] * time)
        slopes = [1.0, shape, -law[1] * time * shape][first:]
        left = temperature - law[0] - law[1] * shape
        for row in range(size):
            for column in range(size):
                rows[row][column] += slopes[row] * slopes[column]
            rows[row][size] += slopes[row] * left
    return _solve(rows)


def _solve(rows: "Readings") -> "list[float]":
    """Gauss-Jordan elimination of a small system, each row ending in its right side."""
    size = len(rows)
    for index in range(size):
        pivot = max(range(index, size), key=lambda row: abs(rows[row][index]))
        rows[index], rows[pivot] = rows[pivot], rows[index]
        if abs(rows[index][index]) < 1e-300:
            raise ValueError("The readings do not bend enough to tell where the cooling ends.")
        for row in range(size):
            if row != index:
                share = rows[row][index] / rows[index][index]
                rows[row] = [value - share * other for value, other in zip(rows[row], rows[index])]
    return [rows[index][size] / rows[index][index] for index in range(size)]


def _squares(points: "Readings", law: "list[float]") -> float:
    return sum((height - law[0] - law[1] * math.exp(-law[2] * time)) ** 2 for time, height in points)
