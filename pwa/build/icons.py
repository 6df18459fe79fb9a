"""The app's icons, drawn here so that nothing has to be fetched: a rim with two witness marks."""

import io
from math import cos, radians, sin

from PIL import Image, ImageDraw

INK, PAPER, MARK = "#14323a", "#f4efe4", "#f2b705"
SUPERSAMPLE = 4

SVG = f"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">
<rect width="100" height="100" fill="{INK}"/>
<circle cx="50" cy="50" r="29" fill="none" stroke="{PAPER}" stroke-width="9"/>
<path d="M71 29 82 18M62 38 67 33" stroke="{MARK}" stroke-width="9"/>
</svg>
"""


def _instead(first: str, second: str) -> str:
    """What is drawn in the place of a photo that cannot be shown."""
    return f"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 200" role="img">
<rect width="320" height="200" fill="{PAPER}" stroke="{INK}" stroke-width="4"/>
<g text-anchor="middle" font-family="sans-serif" fill="{INK}">
<text x="160" y="95" font-size="20">{first}</text>
<text x="160" y="125" font-size="14">{second}</text>
</g>
</svg>
"""


PHOTO_NOT_HERE = _instead("Photo not here yet", "It is on another phone or at the shop")
PHOTO_DAMAGED = _instead("Photo damaged at the shop", "It is asked back from the phones that have it")


def png(size: int) -> bytes:
    """A square PNG of `size` px; the drawing keeps to the inner 80 % that a maskable icon may show."""
    scale = size * SUPERSAMPLE / 100
    image = Image.new("RGB", (size * SUPERSAMPLE, size * SUPERSAMPLE), INK)
    draw = ImageDraw.Draw(image)
    box = [21 * scale / 1.2 + 8 * scale, 21 * scale / 1.2 + 8 * scale]
    edge = 100 * scale - box[0]
    draw.ellipse([box[0], box[1], edge, edge], outline=PAPER, width=round(8 * scale))
    for start, end in ((14, 20), (29, 38)):
        points = [_polar(radius * scale, -45, 50 * scale) for radius in (start, end)]
        draw.line(points, fill=MARK, width=round(8 * scale))
    out = io.BytesIO()
    image.resize((size, size), Image.Resampling.LANCZOS).save(out, "PNG", optimize=True)
    return out.getvalue()


def _polar(radius: float, degrees: float, centre: float) -> tuple[float, float]:
    return centre + radius * cos(radians(degrees)), centre + radius * sin(radians(degrees))
