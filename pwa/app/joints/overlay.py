"""Laying a photo over an earlier one of the same joint: rim and fixed mark meet, and the rest shows.

Both rims are circles seen as ellipses. Scaled along its axes each is a unit circle; turned by the difference
of the fixed marks' eccentric anomalies, one becomes the other. With E a rim's map from the unit circle, the
later picture is moved by E_before R(difference) E_after^-1, an affine map. It is exact for distant views;
near ones are off by what perspective does, which a reading's uncertainty states and a picture cannot.
"""

import math
from typing import TYPE_CHECKING

from pwa.engine.clocking import ellipse as ellipses

if TYPE_CHECKING:
    from pwa.app.kinds.data import Marks
    from pwa.engine.clocking.ellipse import Ellipse

    Matrix = list[list[float]]


def transform(before: "Marks", after: "Marks") -> "list[float] | None":
    """a to f of an SVG matrix from the pixels of `after` to those of `before`; None without both marks."""
    old, new = before["reading"]["ellipse"], after["reading"]["ellipse"]
    fixed = before.get("fixed"), after.get("fixed")
    if not fixed[0] or not fixed[1]:
        return None
    turn = _anomaly(old, fixed[0]) - _anomaly(new, fixed[1])
    to_circle = _times([[1 / new["a"], 0.0], [0.0, 1 / new["b"]]], _turned(-new["phi"]))
    m = _times(_out(old), _times(_turned(turn), to_circle))
    e = old["cx"] - m[0][0] * new["cx"] - m[0][1] * new["cy"]
    f = old["cy"] - m[1][0] * new["cx"] - m[1][1] * new["cy"]
    return [m[0][0], m[1][0], m[0][1], m[1][1], e, f]


def _anomaly(shape: "Ellipse", mark: "list[float]") -> float:
    """On the ray from the middle through the mark, for a lever's marks sit off the rim."""
    u, v = ellipses.in_axes(shape, mark)
    return math.atan2(v / shape["b"], u / shape["a"])


def _out(shape: "Ellipse") -> "Matrix":
    return _times(_turned(shape["phi"]), [[shape["a"], 0.0], [0.0, shape["b"]]])


def _turned(angle: float) -> "Matrix":
    c, s = math.cos(angle), math.sin(angle)
    return [[c, -s], [s, c]]


def _times(left: "Matrix", right: "Matrix") -> "Matrix":
    return [[left[i][0] * right[0][j] + left[i][1] * right[1][j] for j in range(2)] for i in range(2)]
