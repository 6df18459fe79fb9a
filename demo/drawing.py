"""Draws one invented joint: a flange held by bolts (cast iron), or a housing in a clamp band (aluminium).

Lengths are in rim radii, angles in radians, clockwise as seen. The inner ring is the fixed part, the outer
ring and what holds it the moving part; the dark line between them is the rim.
"""

import math
import random
from collections.abc import Callable

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from demo.camera import Camera, Point

SIZE = (1200, 900)
BOLT_CIRCLE = 1.22
FINE = 2  # drawn this much larger, then shrunk, so that edges are smooth
Colour = tuple[int, int, int]

IRON: Colour = (122, 104, 92)
ALUMINIUM: Colour = (168, 172, 176)
STEEL: Colour = (150, 152, 156)
DARK: Colour = (24, 23, 23)
PAINT: Colour = (236, 208, 62)


class Drawing:
    """Painted from the far parts to the near ones."""

    def __init__(
        self, camera: Camera, fixed: float, moving: float, bolts: int, chance: random.Random
    ) -> None:
        self.camera, self.fixed, self.moving = camera, fixed, moving
        self.bolts, self.chance = bolts, chance
        self.image = _backdrop(chance)
        self.pen = ImageDraw.Draw(self.image)
        self.light = math.radians(-110) - self.camera.roll  # from above left, whatever way the phone is held

    def finish(self) -> Image.Image:
        metal = IRON if self.bolts else ALUMINIUM
        outer = 1.42 if self.bolts else 1.3
        self._shadow(outer)
        self._wall(outer, 0.55, 0.0, _dim(metal, 0.62))
        self._ring(outer, 1.0, 0.0, metal)
        self._ring(0.995, 0.56, 0.0, _dim(metal, 1.12))
        self._lines(metal)
        self._bore(metal)
        if self.bolts:
            for number in range(self.bolts):
                self._bolt(BOLT_CIRCLE, self.moving + 2 * math.pi * (number + 0.5) / self.bolts)
        else:
            self._band()
        self._paint(self.fixed, 0.80, 0.993)
        self._paint(self.moving, 1.007, 1.125)
        return self._develop()

    def _ring(self, outer: float, inner: float, depth: float, colour: Colour) -> None:
        """A turned face: two soft streaks of light opposite each other, as on any lathe-turned ring."""
        count = 360
        for number in range(count):
            start, end = 2 * math.pi * number / count, 2 * math.pi * (number + 1.2) / count
            corners = [(outer, start), (outer, end), (inner, end), (inner, start)]
            glint = 0.84 + 0.26 * math.cos(start - self.light) ** 6 + 0.10 * math.cos(start - self.light)
            self._fill([self.camera.see(r, angle, depth) for r, angle in corners], _dim(colour, glint))

    def _wall(self, radius: float, far: float, near: float, colour: Colour) -> None:
        """The outside of a cylinder, as circles from far to near, lighter towards the viewer."""
        for step in range(30):
            share = step / 29
            depth = far + (near - far) * share
            self._fill(self.camera.circle(radius, depth), _dim(colour, 0.45 + 0.5 * share))

    def _lines(self, metal: Colour) -> None:
        for radius, width, level in ((0.74, 2, 0.8), (0.755, 2, 1.15), (1.10, 2, 0.86), (1.0, 9, 0.12)):
            points = self.camera.circle(radius)
            self.pen.line([*points, *points[:2]], fill=_dim(metal, level), width=width, joint="curve")

    def _bore(self, metal: Colour) -> None:
        """A hole with a wheel in it. Its nut's face is in the rim's plane, so its middle is the centre."""
        for step in range(24):
            self._fill(self.camera.circle(0.56, 0.02 * step), _dim(metal, 0.95 - 0.035 * step))
        self._fill(self.camera.circle(0.50, 0.5), DARK)
        twist = self.chance.uniform(0, 1)
        for blade in range(11):
            start = twist + 2 * math.pi * blade / 11
            edge = [
                (0.14, 0.0, 0.12),
                (0.30, 0.16, 0.22),
                (0.47, 0.42, 0.42),
                (0.47, 0.50, 0.42),
                (0.30, 0.30, 0.25),
            ]
            self._fill(
                [self.camera.see(r, start + turn, depth) for r, turn, depth in edge],
                _dim(STEEL, 0.55 + 0.3 * math.cos(start - self.light)),
            )
        for step in range(12):
            share = step / 11
            self._fill(
                self.camera.circle(0.16 - 0.05 * share, 0.3 * (1 - share)), _dim(STEEL, 0.4 + 0.4 * share)
            )
        self._hexagon(0.0, 0.0, 0.085, 0.0, twist, _dim(STEEL, 1.1))
        self._fill(self.camera.circle(0.012, 0.0), DARK)

    def _bolt(self, radius: float, angle: float) -> None:
        twist = self.chance.uniform(0, math.pi / 3)
        self._spot(radius, angle, 0.145, 0.0, _dim(IRON, 0.5))
        self._spot(radius, angle, 0.130, -0.015, _dim(STEEL, 0.8))
        for step in range(10):
            self._hexagon(radius, angle, 0.105, -0.012 * step, twist, _dim(STEEL, 0.42 + 0.02 * step))
        self._hexagon(radius, angle, 0.105, -0.12, twist, STEEL)
        self._spot(radius, angle, 0.085, -0.125, _dim(STEEL, self.chance.uniform(1.08, 1.2)))

    def _band(self) -> None:
        """A clamp band with its gap, and the bolt that closes it."""
        gap = self.moving + 2.4
        for inner, outer, level in ((1.17, 1.37, 0.5), (1.19, 1.35, 0.85), (1.24, 1.30, 1.12)):
            steps = [gap + 0.06 + (2 * math.pi - 0.12) * n / 200 for n in range(201)]
            edge = [self.camera.see(outer, angle, -0.04) for angle in steps]
            self._fill(
                edge + [self.camera.see(inner, angle, -0.04) for angle in reversed(steps)], _dim(STEEL, level)
            )
        bar = [(1.30, -0.17), (1.30, 0.17), (1.38, 0.17), (1.38, -0.17)]
        self._fill([self.camera.see(r, gap + turn, -0.10) for r, turn in bar], _dim(STEEL, 0.62))
        for turn in (-0.11, 0.11):
            ear = [(1.25, turn - 0.03), (1.25, turn + 0.03), (1.45, turn + 0.025), (1.45, turn - 0.025)]
            self._fill([self.camera.see(r, gap + end, -0.12) for r, end in ear], _dim(STEEL, 0.95))
        self._hexagon(1.34, gap + 0.19, 0.06, -0.12, gap, _dim(STEEL, 1.15))

    def _paint(self, angle: float, inner: float, outer: float) -> None:
        """A stroke of a paint pen across the part, a little ragged, its middle line exactly at the angle."""
        half, steps = 0.016, 24
        left, right = [], []
        for step in range(steps + 1):
            radius = inner + (outer - inner) * step / steps
            ragged = half * self.chance.uniform(0.85, 1.15)
            left.append(self.camera.see(radius, angle - ragged / radius))
            right.append(self.camera.see(radius, angle + ragged / radius))
        self._fill([*left, *reversed(right)], PAINT)

    def _hexagon(
        self, radius: float, angle: float, size: float, depth: float, twist: float, colour: Colour
    ) -> None:
        self._spot(radius, angle, size, depth, colour, 6, twist)

    def _spot(
        self,
        radius: float,
        angle: float,
        size: float,
        depth: float,
        colour: Colour,
        corners: int = 40,
        twist: float = 0.0,
    ) -> None:
        """A disc or polygon about a point of the face."""
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        points = []
        for corner in range(corners):
            turn = twist + 2 * math.pi * corner / corners
            px, py = x + size * math.cos(turn), y + size * math.sin(turn)
            points.append(self.camera.see(math.hypot(px, py), math.atan2(py, px), depth))
        self._fill(points, colour)

    def _shadow(self, outer: float) -> None:
        layer = Image.new("L", self.image.size, 0)
        points = [(x + 26 * FINE, y + 40 * FINE) for x, y in self.camera.circle(outer * 1.05, 0.5)]
        ImageDraw.Draw(layer).polygon(points, fill=190)
        layer = layer.filter(ImageFilter.GaussianBlur(22 * FINE))
        self.image.paste((8, 8, 9), mask=layer)

    def _fill(self, points: list[Point], colour: Colour) -> None:
        self.pen.polygon(points, fill=colour)

    def _develop(self) -> Image.Image:
        """Casting skin, grime, the darker corners of a lens, a little blur, and the sensor's noise."""
        image = self.image.resize(SIZE, Image.Resampling.LANCZOS)
        for cells, strength in ((5, 0.16), (60, 0.10), (400, 0.10)):
            image = _mottle(image, cells, strength, self.chance)
        dark = Image.radial_gradient("L").resize(SIZE).point(lambda value: 255 - value * 0.45)
        image = ImageChops.multiply(image, Image.merge("RGB", [dark] * 3))
        image = image.point(lambda value: value * 1.75).filter(ImageFilter.GaussianBlur(0.9))
        return _mottle(image, SIZE[0], 0.06, self.chance)


def _backdrop(chance: random.Random) -> Image.Image:
    """An engine bay out of focus."""
    size = (SIZE[0] // 4, SIZE[1] // 4)
    image = Image.new("RGB", size, (46, 46, 48))
    pen = ImageDraw.Draw(image)
    for _ in range(26):
        x, y = chance.uniform(-40, size[0]), chance.uniform(-40, size[1])
        level = chance.randint(18, 92)
        box = [x, y, x + chance.uniform(20, 150), y + chance.uniform(10, 60)]
        draw: Callable[..., None] = chance.choice([pen.rectangle, pen.ellipse])
        draw(box, fill=(level + chance.randint(0, 8), level, level))
    blurred = image.filter(ImageFilter.GaussianBlur(9))
    return blurred.resize((SIZE[0] * FINE, SIZE[1] * FINE), Image.Resampling.BICUBIC)


def _mottle(image: Image.Image, cells: int, strength: float, chance: random.Random) -> Image.Image:
    """Lighter and darker patches, about `cells` of them across the picture."""
    rows = cells * SIZE[1] // SIZE[0] + 1
    grain = Image.frombytes("L", (cells, rows), chance.randbytes(cells * rows))
    grain = grain.resize(SIZE, Image.Resampling.BICUBIC)
    grain = grain.point(lambda value: 255 - (255 - value) * strength * 2)
    return ImageChops.multiply(image, Image.merge("RGB", [grain] * 3))


def _dim(colour: Colour, level: float) -> Colour:
    red, green, blue = (max(0, min(255, round(part * level))) for part in colour)
    return red, green, blue
