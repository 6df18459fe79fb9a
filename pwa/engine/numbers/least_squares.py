"""Small non-linear least squares by Levenberg and Marquardt's method, and what the parameters are known to.

Source: Marquardt, SIAM Journal on Applied Mathematics 11(2), 1963 (damping by the diagonal; from memory).
Covariance for residuals of standard deviation 1 each: the inverse of J^T J, which is the Cramer-Rao bound of
the linear model.
"""

import math
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from collections.abc import Callable

    Vector = list[float]
    Matrix = list[list[float]]
    # parameters -> residuals and their derivatives, one row a residual; None where the model means nothing
    Model = Callable[[Vector], "tuple[Vector, Matrix] | None"]

SINGULAR = 1e-20  # of the largest element; parameters differ much in size
STEPS = 200
STILL = 1e-10  # in units of a residual: a step that changes no residual by more has arrived
DAMPED = 1e-3  # at the start
ROUNDING = 1e-12  # of the sum: near the end rounding decides which sum is less
STUCK = 1e12  # damping at which no step helps any more


class Solution(TypedDict):
    """`covariance` is for residuals of standard deviation 1; times the variance for others."""

    parameters: "Vector"
    covariance: "Matrix"
    squares: float  # sum of squared residuals


def fit(model: "Model", start: "Vector") -> Solution:
    """The parameters with the least sum of squared residuals, found from `start` downhill.

    Raises:
        ValueError: the points do not determine the parameters.
    """
    now = list(start)
    rows = model(now)
    if rows is None:
        raise ValueError("The start is outside the model.")
    damping = DAMPED
    for _ in range(STEPS):
        normal, slope = _normal(rows[0], rows[1])
        damped = [
            [normal[i][j] * (1 + damping if i == j else 1.0) for j in range(len(now))]
            for i in range(len(now))
        ]
        step = solve(damped, slope)
        tried = [value - change for value, change in zip(now, step)]
        found = model(tried)
        size = max(abs(change) * math.sqrt(normal[i][i]) for i, change in enumerate(step))
        if found is not None and _squares(found[0]) <= _squares(rows[0]) * (1 + ROUNDING) + STILL**2:
            now, rows, damping = tried, found, damping / 10
            if size < STILL and damping < 1:  # a damped step is small for another reason
                break
        else:
            damping *= 10
            if damping > STUCK:
                break
    return {
        "parameters": now,
        "covariance": inverse(_normal(rows[0], rows[1])[0]),
        "squares": _squares(rows[0]),
    }


def solve(matrix: "Matrix", right: "Vector") -> "Vector":
    """x of matrix x = right, by elimination with pivots.

    Raises:
        ValueError: the matrix has no inverse.
    """
    size = len(right)
    rows = [matrix[i] + [right[i]] for i in range(size)]
    largest = max(abs(value) for row in matrix for value in row)
    for i in range(size):
        pivot = max(range(i, size), key=lambda k: abs(rows[k][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        if abs(rows[i][i]) <= SINGULAR * largest or largest == 0:
            raise ValueError("The taps do not determine the view. Tap more points, further apart.")
        for k in range(i + 1, size):
            factor = rows[k][i] / rows[i][i]
            for j in range(i, size + 1):
                rows[k][j] -= factor * rows[i][j]
    found = [0.0] * size
    for i in range(size - 1, -1, -1):
        found[i] = (rows[i][size] - sum(rows[i][j] * found[j] for j in range(i + 1, size))) / rows[i][i]
    return found


def inverse(matrix: "Matrix") -> "Matrix":
    """Of a symmetric positive matrix; scaled to a unit diagonal first, for its parameters differ in size."""
    size = len(matrix)
    scale = [math.sqrt(matrix[i][i]) or 1.0 for i in range(size)]
    even = [[matrix[i][j] / scale[i] / scale[j] for j in range(size)] for i in range(size)]
    columns = [solve(even, [1.0 if i == k else 0.0 for i in range(size)]) for k in range(size)]
    return [[columns[j][i] / scale[i] / scale[j] for j in range(size)] for i in range(size)]


def variance(covariance: "Matrix", slope: "Vector") -> float:
    """Of a quantity with these derivatives by the parameters (JCGM 100:2008, 5.2.2)."""
    total = 0.0
    for i, left in enumerate(slope):
        total += sum(left * covariance[i][j] * right for j, right in enumerate(slope))
    return max(0.0, total)


def slope(model: "Callable[[Vector], float]", at: "Vector", steps: "Vector") -> "Vector":
    """Central differences of a quantity by each parameter."""
    found = []
    for index, step in enumerate(steps):
        up, down = list(at), list(at)
        up[index] += step
        down[index] -= step
        found.append((model(up) - model(down)) / (2 * step))
    return found


def _normal(residuals: "Vector", rows: "Matrix") -> "tuple[Matrix, Vector]":
    size = len(rows[0])
    normal, slope = [[0.0] * size for _ in range(size)], [0.0] * size
    for row, residual in zip(rows, residuals):
        for i in range(size):
            slope[i] += row[i] * residual
            for j in range(i + 1):
                normal[i][j] += row[i] * row[j]
    for i in range(size):
        for j in range(i):
            normal[j][i] = normal[i][j]
    return normal, slope


def _squares(residuals: "Vector") -> float:
    return sum(residual * residual for residual in residuals)
