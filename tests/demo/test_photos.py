"""The invented photos: their truth, read by the engine, and the pictures themselves."""

import io

import pytest
from PIL import Image

from demo import photos
from pwa.engine.clocking import perspective, turning, witness

SCENES = photos.scenes()
PAIRS = sorted({key.rpartition("/")[0] for key in SCENES})


def read(truth):
    return witness.reading(truth.rim, truth.fixed, truth.moving, truth.centre)


def test_three_jobs_have_two_joints_before_and_after():
    assert len(PAIRS) == 6
    assert {key.split("/")[1] for key in SCENES} == {"turbine-housing", "compressor-housing"}
    assert all(f"{pair}/{moment}" in SCENES for pair in PAIRS for moment in ("before", "after"))


@pytest.mark.parametrize("key", sorted(SCENES))
def test_the_engine_reads_the_true_angle(key):
    truth = photos.truth(SCENES[key])
    assert perspective.wrap(read(truth)["angle"] - truth.angle) == pytest.approx(0, abs=0.2)


@pytest.mark.parametrize("pair", PAIRS)
def test_the_engine_finds_the_known_rotation(pair):
    before, after = (photos.truth(SCENES[f"{pair}/{moment}"]) for moment in ("before", "after"))
    turned = turning.rotation(read(before), read(after), 2.0)
    assert turned["rotation"] == pytest.approx(after.angle - before.angle, abs=0.2)
    out = pair == "mechanical/compressor-housing"
    assert turned["verdict"] == ("out" if out else "within")
    assert abs(turned["rotation"]) == pytest.approx(6.0 if out else 0.3, abs=0.15)


def test_a_photo_is_the_same_each_time_and_says_nothing_of_its_maker():
    scene = SCENES["electrical/turbine-housing/before"]
    picture, truth = photos.render(scene)
    assert photos.render(scene) == (picture, truth)
    image = Image.open(io.BytesIO(picture))
    assert (image.format, image.size) == ("JPEG", (1200, 900))
    assert not image.getexif()


@pytest.mark.parametrize("key", ["mechanical/turbine-housing/after", "mechanical/compressor-housing/after"])
def test_the_paint_is_where_the_truth_says(key):
    """Yellow (much more red than blue) just inside and outside the rim at the marks, and not between them."""
    picture, truth = photos.render(SCENES[key])
    image = Image.open(io.BytesIO(picture)).convert("RGB")

    def yellow(mark, share):
        x, y = (truth.centre[axis] + share * (mark[axis] - truth.centre[axis]) for axis in (0, 1))
        red, _, blue = image.getpixel((round(x), round(y)))
        return red > blue + 60

    assert yellow(truth.fixed, 0.9)
    assert yellow(truth.moving, 1.06)
    assert not yellow(truth.fixed, 0.7)
    assert not yellow(truth.rim[3], 0.9)
