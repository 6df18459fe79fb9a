"""Fingers on a page: real touch events through the browser's own input, one finger or two."""

from typing import Any

Point = tuple[float, float]


class Fingers:
    def __init__(self, page: Any) -> None:
        self._devtools = page.context.new_cdp_session(page)
        self._devtools.send("Emulation.setTouchEmulationEnabled", {"enabled": True, "maxTouchPoints": 5})

    def slide(self, *way: Point) -> None:
        """Put one finger down, move it along and lift it."""
        self._send("touchStart", way[0])
        for place in way[1:]:
            self._send("touchMove", place)
        self._send("touchEnd")

    def pinch(self, middle: Point, start: float, end: float) -> None:
        """Two fingers about a place, from `start` px apart to `end`."""
        for step in range(7):
            half = (start + (end - start) * step / 6) / 2
            pair = (middle[0] - half, middle[1]), (middle[0] + half, middle[1])
            if step == 0:
                self._send("touchStart", pair[0])
                self._send("touchStart", *pair)
            else:
                self._send("touchMove", *pair)
        self._send("touchEnd")

    def _send(self, kind: str, *places: Point) -> None:
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(places)]
        self._devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
