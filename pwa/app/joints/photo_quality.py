"""Whether a photo is good enough to tap on, from plain numbers of its pixels (pwa/static/pixels.js).

Sharpness: a step of height h under a Gaussian blur of standard deviation s rises by h / (s sqrt(2 pi)) a
pixel where it is steepest, so each edge tells s = h / (slope sqrt(2 pi)). The sharper quarter of the tiles
counts, x and y apart: what lies behind may be out of focus, and a shaken hand blurs in one direction only.
The limits are our estimates, tried on drawn photos (tests/app/joints/test_photo_quality.py).
"""

import json
import math
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any

BLURRED = 2.2  # px of a picture of 1000 px; a tap on a wider edge misses by more than the finger does
FAINT = 24.0  # grey levels; a lower edge is grain
FEWEST = 4  # edges; with fewer there is nothing to tap on
SMALLEST = 600  # px of the short side
BINS = 16
DARK, DARK_SHARE = 4, 0.9  # bins of 16 from black, and the share of the picture in them
BRIGHT_SHARE = 0.25  # of the picture in the brightest bin


class Pixels(TypedDict):
    """What the phone measured; an edge is its steepest slope, grey levels a pixel, and its height."""

    width: int
    height: int
    histogram: "list[int]"
    edges: "dict[str, list[list[float]]]"  # along x and y


class Checked(TypedDict):
    """What a photo's record keeps: `blur` in px of 1000 (None: no edges), and what is wrong in words."""

    blur: "float | None"
    dark: float
    bright: float
    problems: "list[str]"


def check(text: str) -> "Checked | None":
    """The verdict on what the phone measured, as JSON; None when it could not look at the picture."""
    pixels = _read(text)
    if pixels is None:
        return None
    spread = pixels["histogram"]
    total = sum(spread) or 1
    dark, bright = sum(spread[:DARK]) / total, spread[-1] / total
    blur = _blur(pixels["edges"])
    problems = []
    if dark > DARK_SHARE:
        problems.append("Too dark. Bring a light.")
    elif bright > BRIGHT_SHARE:
        problems.append("Too bright: parts of it are burnt out. Turn the flash off, or the light aside.")
    if blur is None:
        problems.append("Nothing in it is sharp. Wipe the lens.")
    elif blur > BLURRED:
        problems.append("Blurred. Rest the phone on something, tap the joint to focus, take it again.")
    if min(pixels["width"], pixels["height"]) < SMALLEST:
        problems.append(f"Too small to tap on exactly: under {SMALLEST} px.")
    return {"blur": blur, "dark": round(dark, 3), "bright": round(bright, 3), "problems": problems}


def _blur(edges: "dict[str, list[list[float]]]") -> "float | None":
    widths = [_sharpest(edges[axis]) for axis in ("x", "y")]
    known = [width for width in widths if width is not None]
    return round(max(known), 2) if known else None


def _sharpest(edges: "list[list[float]]") -> "float | None":
    found = sorted(
        rise / (slope * math.sqrt(2 * math.pi)) for slope, rise in edges if rise >= FAINT and slope > 0
    )
    return found[len(found) // 4] if len(found) >= FEWEST else None


def _read(text: str) -> "Pixels | None":
    """The phone's numbers if they are all there; a form is not trusted to hold what our script writes."""
    try:
        pixels = json.loads(text) if text else None
        if not isinstance(pixels, dict):
            return None
        return {
            "width": int(pixels["width"]),
            "height": int(pixels["height"]),
            "histogram": _counts(pixels["histogram"]),
            "edges": {
                axis: [[float(slope), float(rise)] for slope, rise in pixels["edges"][axis]]
                for axis in ("x", "y")
            },
        }
    except (ValueError, TypeError, KeyError, OverflowError):
        return None


def _counts(histogram: "Any") -> "list[int]":
    counts = [int(count) for count in histogram]
    if len(counts) != BINS:
        raise ValueError("The histogram does not have its bins.")
    return counts
