"""`layby clocking TAPS.json`: angles between witness marks tapped on photos, and what turned between them."""

import argparse
import json
from pathlib import Path
from typing import Any

from pwa.engine.clocking import agreement, drain, lever, pattern, rim_guide, turning, witness
from server.commands import given

EXAMPLE = """TAPS.json: {"before": {"rim": [[940, 480], [640, 700], ...], "fixed": [x, y], "moving": [x, y]},
 "after": {...}, "tolerance": 2}"""
FIELDS = """
Points are [x, y] in pixels of the photo, y down. A photo has "rim" (five taps or more), "fixed" and "moving"
(the marks), and to take perspective out "centre", or "holes" and their "count", or instead of the rim a
"pattern" of {"at": [x, y], "tap": [x, y]} with the "axis" in its coordinates. "distance" and "diameter" (mm)
bound perspective, "tap" is what a tap is uncertain by (px), "on_rim": false lets marks lie anywhere.
The file is one photo; or "before" and "after", each a photo or a list of photos, with "tolerance" (degrees),
"fixing" (bolts, v-band, other), "bolts", "diameter" (mm), "same_view"; or "stops", two photos of a lever,
with "least", "most" (degrees), "length" (mm); or a photo with "drain": {"start", "end", "tolerance", and
"down" in the picture or the phone's "acceleration" with "turned"}.
"""


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser(
        "clocking",
        help="angles between witness marks on photos",
        description=__doc__ + FIELDS,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("taps", type=Path, help="the taps as JSON")
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    found, said = _judge(_Taps(options.taps))
    print(json.dumps(found, indent=1, ensure_ascii=False) if options.json else "\n".join(said))
    return 0


class _Taps:
    """The parts of a file, each checked where it is taken, with the file's name in every complaint."""

    def __init__(self, path: Path, table: Any = None, where: str = "") -> None:
        self._path, self._where = path, where
        self._table = given.json_of(path) if table is None else table
        if not isinstance(self._table, dict):
            raise self._wrong("this must be a table.")

    def __contains__(self, name: str) -> bool:
        return self._table.get(name) is not None

    def point(self, name: str, size: int = 2) -> list[float]:
        value = self._table.get(name)
        if not _numbers(value, size):
            raise self._wrong(f"“{name}” is a list of {size} numbers.")
        return [float(part) for part in value]

    def points(self, name: str) -> list[list[float]]:
        value = self._table.get(name)
        if not isinstance(value, list) or not all(_numbers(item, 2) for item in value):
            raise self._wrong(f"“{name}” is a list of points [x, y].")
        return [[float(x), float(y)] for x, y in value]

    def number(self, name: str, default: float = 0.0) -> float:
        value = self._table.get(name, default)
        if not _numbers([value], 1):
            raise self._wrong(f"“{name}” is a number.")
        return float(value)

    def word(self, name: str, allowed: tuple[str, ...]) -> str:
        value = self._table.get(name, allowed[0])
        if value not in allowed:
            raise self._wrong(f"“{name}” is one of {', '.join(allowed)}.")
        return str(value)

    def yes(self, name: str, default: bool) -> bool:
        value = self._table.get(name, default)
        if not isinstance(value, bool):
            raise self._wrong(f"“{name}” is true or false.")
        return value

    def photos(self, name: str) -> "list[_Taps]":
        value = self._table.get(name)
        return [
            _Taps(self._path, item, f"{name}, photo {number}: ")
            for number, item in enumerate(value if isinstance(value, list) else [value], 1)
        ]

    def _wrong(self, sentence: str) -> ValueError:
        return ValueError(f"{self._path}: {self._where}{sentence}")


def _numbers(value: Any, size: int) -> bool:
    return (
        isinstance(value, list)
        and len(value) == size
        and all(isinstance(part, int | float) and not isinstance(part, bool) for part in value)
    )


def _judge(taps: _Taps) -> tuple[dict[str, Any], list[str]]:
    """Everything the file asks for, and the same in words."""
    if "drain" in taps:
        pointed = _drain(taps)
        return {"drain": pointed}, [f"{pointed['sentence']} {pointed['advice']}".strip()]
    if "stops" in taps:
        return _travel(taps)
    if "before" not in taps and "after" not in taps:
        one = _reading(taps)
        guide = rim_guide.guide(taps.points("rim")) if "rim" in taps else None
        return {"reading": one, "guide": guide}, _words(one) + ([guide["sentence"]] if guide else [])
    found: dict[str, Any] = {}
    said: list[str] = []
    sides = []
    for name in ("before", "after"):
        together = agreement.of([_reading(photo) for photo in taps.photos(name)])
        sides.append(together)
        found[name] = together
        said.append(f"{name.capitalize()}: {together['sentence']} {together['advice']}".rstrip())
    turned = turning.rotation(
        sides[0],
        sides[1],
        taps.number("tolerance"),
        taps.word("fixing", ("other", "bolts", "v-band")),
        int(taps.number("bolts")),
        taps.yes("same_view", False),
        taps.number("diameter") / 1000,
    )
    found["rotation"] = turned
    return found, [*said, turned["sentence"]]


def _reading(taps: _Taps) -> witness.Reading:
    fixed, moving, tap = taps.point("fixed"), taps.point("moving"), taps.number("tap")
    if "pattern" in taps:
        parts = taps.photos("pattern")
        plane = pattern.plane(
            [part.point("at") for part in parts], [part.point("tap") for part in parts], tap
        )
        return pattern.reading(plane, taps.point("axis"), fixed, moving)
    near = witness.RADIUS_OVER_DISTANCE
    if "distance" in taps:
        near = witness.nearness(taps.number("distance") / 1000, taps.number("diameter") / 1000)
    return witness.reading(
        taps.points("rim"),
        fixed,
        moving,
        taps.point("centre") if "centre" in taps else None,
        near,
        taps.points("holes") if "holes" in taps else None,
        int(taps.number("count")),
        tap,
        taps.yes("on_rim", True),
    )


def _travel(taps: _Taps) -> tuple[dict[str, Any], list[str]]:
    stops = [_reading(photo) for photo in taps.photos("stops")]
    if len(stops) != 2:
        raise ValueError("A lever's travel needs two photos, one at each stop.")
    gone = lever.travel(
        stops[0],
        stops[1],
        taps.number("least"),
        taps.number("most"),
        taps.number("length") / 1000,
        taps.yes("same_view", False),
    )
    return {"stops": stops, "travel": gone}, [gone["sentence"]]


def _drain(taps: _Taps) -> drain.Drain:
    asked = taps.photos("drain")[0]
    if "down" in asked:
        down = asked.point("down", 3)
    else:
        down = drain.gravity(asked.point("acceleration", 3), asked.number("turned"))
    return drain.direction(
        taps.points("rim"),
        asked.point("start"),
        asked.point("end"),
        down,
        asked.number("tolerance"),
        taps.point("centre") if "centre" in taps else None,
        taps.number("tap"),
    )


def _words(reading: witness.Reading) -> list[str]:
    half = reading["high"] - reading["angle"]
    said = f"{reading['angle']:.1f}° ± {half:.1f}° (95 %) from the fixed to the moving mark."
    if reading["limit"] > 0:
        said += f" Perspective may be up to {reading['limit']:.1f}° of that."
    return [f"{said} {reading['advice']}".strip()]
