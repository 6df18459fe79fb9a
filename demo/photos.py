"""Invented photos of turbocharger joints with witness marks, and where everything in them truly is.

No photo shows a real part: `demo/drawing.py` draws them, as `demo/camera.py` sees them.
"""

import functools
import io
import math
import random
from dataclasses import dataclass, replace

from demo.camera import Camera
from demo.drawing import BOLT_CIRCLE, FINE, SIZE, Drawing

RIM = 285.0  # px of the rim's radius in the photo
RIM_TAPS = 12


@dataclass(frozen=True)
class Scene:
    """A joint and the camera in front of it. `bolts` 0 means a clamp band. Angles clockwise as seen."""

    radius_mm: float
    distance_mm: float
    tilt_deg: float
    roll_deg: float
    fixed_deg: float
    moving_deg: float
    bolts: int
    seed: int


@dataclass(frozen=True)
class Truth:
    """Image points in px, y down, and the true angle of the moving mark from the fixed one in degrees."""

    rim: list[list[float]]
    fixed: list[float]
    moving: list[float]
    centre: list[float]
    angle: float


def scenes() -> dict[str, Scene]:
    """Photos before and after of two joints in three jobs: "job/joint/moment".

    All come back within 0.4 degrees, but for the clamped housing of the mechanical job: 6 degrees out.
    """
    turned = {"electrical": (0.3, -0.2), "mechanical": (0.3, 6.0), "upstream": (-0.4, 0.2)}
    found = {}
    for number, (job, (bolted, clamped)) in enumerate(turned.items()):
        flange = Scene(62.0, 950.0, 16.0 + 3 * number, 35.0 - 20 * number, -62.0, -61.2, 8, 10 * number)
        housing = Scene(
            78.0, 1150.0, 21.0 - 4 * number, -30.0 + 25 * number, -118.0, -118.5, 0, 10 * number + 2
        )
        for joint, before, rotation in (
            ("turbine-housing", flange, bolted),
            ("compressor-housing", housing, clamped),
        ):
            found[f"{job}/{joint}/before"] = before
            found[f"{job}/{joint}/after"] = replace(
                before,
                distance_mm=before.distance_mm + 60,
                tilt_deg=before.tilt_deg - 5,
                roll_deg=before.roll_deg + 8,
                fixed_deg=before.fixed_deg - 6,  # the phone is never held quite the same
                moving_deg=before.moving_deg - 6 + rotation,
                seed=before.seed + 1,
            )
    return found


def truth(scene: Scene) -> Truth:
    camera = _camera(scene, 1)
    return Truth(
        rim=[list(point) for point in camera.circle(1.0, count=RIM_TAPS)],
        fixed=list(camera.see(1.0, math.radians(scene.fixed_deg))),
        moving=list(camera.see(1.0, math.radians(scene.moving_deg))),
        centre=list(camera.see(0.0, 0.0)),
        angle=scene.moving_deg - scene.fixed_deg,
    )


def bolts(scene: Scene) -> list[list[float]]:
    """The middle of each bolt where it sits on the face, in px, clockwise; `drawing.py` draws them there."""
    camera, step = _camera(scene, 1), 2 * math.pi / scene.bolts
    first = math.radians(scene.moving_deg) + step / 2
    return [list(camera.see(BOLT_CIRCLE, first + step * number)) for number in range(scene.bolts)]


@functools.cache
def render(scene: Scene) -> tuple[bytes, Truth]:
    """The photo as JPEG without EXIF, and its truth. The same scene gives the same bytes."""
    marks = [math.radians(angle) for angle in (scene.fixed_deg, scene.moving_deg)]
    drawing = Drawing(_camera(scene, FINE), marks[0], marks[1], scene.bolts, random.Random(scene.seed))
    out = io.BytesIO()
    drawing.finish().save(out, "JPEG", quality=84)
    return out.getvalue(), truth(scene)


def _camera(scene: Scene, scale: int) -> Camera:
    chance = random.Random(f"frame {scene.seed}")
    middle = [scale * (side / 2 + chance.uniform(-25, 25)) for side in SIZE]
    return Camera(
        distance=scene.distance_mm / scene.radius_mm,
        tilt=math.radians(scene.tilt_deg),
        roll=math.radians(scene.roll_deg),
        zoom=RIM * scale,
        middle=(middle[0], middle[1]),
    )
