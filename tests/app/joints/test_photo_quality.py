"""Is a photo sharp and bright enough to tap on? The phone's numbers, made here of drawn photos."""

import io
import json

import numpy as np
import pytest
from PIL import Image, ImageFilter

from demo import photos

ALONG, ACROSS, SIDE = 2, 10, 1000


@pytest.fixture(scope="module")
def picture(twin):
    return twin("pwa.app.joints.photo_quality")


@pytest.fixture(
    scope="module", params=["electrical/turbine-housing/before", "mechanical/compressor-housing/after"]
)
def drawn(request) -> Image.Image:
    return Image.open(io.BytesIO(photos.render(photos.scenes()[request.param])[0])).convert("RGB")


def running_mean(levels: np.ndarray, axis: int, half: int) -> np.ndarray:
    kernel = np.ones(2 * half + 1) / (2 * half + 1)
    return np.apply_along_axis(lambda line: np.convolve(line, kernel, "same"), axis, levels)


def measured(image: Image.Image) -> dict:
    """The same numbers as pwa/static/pixels.js gives, with numpy; the browsers' test compares the two."""
    scale = min(1, SIDE / max(image.size))
    small = image.resize((round(image.width * scale), round(image.height * scale)), Image.Resampling.BICUBIC)
    grey = np.asarray(small, float) @ [0.299, 0.587, 0.114]  # ITU-R BT.601
    return {
        "width": image.width,
        "height": image.height,
        "side": max(small.size),
        "histogram": np.histogram(grey, bins=16, range=(0, 256))[0].tolist(),
        "edges": {"x": steepest(grey, 8, 6), "y": steepest(grey.T, 6, 8)},
    }


def steepest(grey: np.ndarray, tiles: int, bands: int) -> list[list[float]]:
    levels = running_mean(grey, 0, ALONG)
    slope = np.zeros_like(levels)
    slope[:, 1:-1] = abs(levels[:, 2:] - levels[:, :-2]) / 2
    height, width = levels.shape
    found = []
    for band in range(1, bands - 1):
        for tile in range(1, tiles - 1):
            top, left = height * band // bands, width * tile // tiles
            part = slope[top : height * (band + 1) // bands, left : width * (tile + 1) // tiles]
            y, x = np.unravel_index(part.argmax(), part.shape)
            around = levels[top + y, max(0, left + x - ACROSS) : left + x + ACROSS + 1]
            found.append([round(float(part.max()), 1), round(float(np.ptp(around)), 1)])
    return found


def shaken(image: Image.Image, px: int) -> Image.Image:
    return Image.fromarray(running_mean(np.asarray(image, float), 1, px // 2).clip(0, 255).astype("uint8"))


def noisy(image: Image.Image) -> Image.Image:
    """The sensor's noise and JPEG, which make a blurred picture look busy."""
    grain = np.random.default_rng(1).normal(0, 4, (image.height, image.width, 3))
    out = io.BytesIO()
    Image.fromarray((np.asarray(image, float) + grain).clip(0, 255).astype("uint8")).save(
        out, "JPEG", quality=80
    )
    return Image.open(out)


def check(picture, image: Image.Image) -> dict:
    return picture.check(json.dumps(measured(image)))


def test_a_sharp_photo_passes(picture, drawn):
    assert check(picture, noisy(drawn))["problems"] == []


@pytest.mark.parametrize("radius", [3, 5])
def test_a_photo_out_of_focus_is_blurred_however_grainy(picture, drawn, radius):
    blurred = noisy(drawn.filter(ImageFilter.GaussianBlur(radius)))
    assert any("Blurred" in problem for problem in check(picture, blurred)["problems"])


def test_a_hand_that_shook_in_one_direction_is_noticed(picture, drawn):
    assert any("Blurred" in problem for problem in check(picture, noisy(shaken(drawn, 16)))["problems"])


def test_the_blur_of_a_gaussian_edge_is_its_standard_deviation(picture):
    """The edge's slope follows from the normal density at its middle, 1 / (s sqrt(2 pi))."""
    step = np.zeros((750, 1000))
    step[:, :] = 40
    for edge in range(0, 1000, 125):
        step[:, edge + 62 : edge + 125] = 200
    step = np.maximum(step, step[:, :1])
    image = Image.fromarray(step.astype("uint8")).convert("RGB").filter(ImageFilter.GaussianBlur(3))
    found = measured(image)
    found["edges"]["y"] = found["edges"]["x"]
    assert picture.check(json.dumps(found))["blur"] == pytest.approx(3.0, rel=0.1)


def test_dark_burnt_out_and_small_photos_say_so(picture, drawn):
    dark = drawn.point(lambda level: level * 0.15)
    assert "Too dark" in check(picture, dark)["problems"][0]
    bright = drawn.point(lambda level: min(255, level * 4 + 60))
    assert "Too bright" in check(picture, bright)["problems"][0]
    small = drawn.resize((400, 300))
    assert any("Too small" in problem for problem in check(picture, small)["problems"])


def test_a_covered_lens_shows_nothing_sharp(picture):
    said = check(picture, Image.new("RGB", (1200, 900), (120, 120, 120)))
    assert said["blur"] is None
    assert "sharp" in said["problems"][0]


@pytest.mark.parametrize(
    "text",
    ["", "null", "[]", "{}", "x", '{"width": 1, "height": 1, "histogram": [], "edges": {"x": [], "y": []}}',
     '{"width": 1e999, "height": 1, "histogram": [], "edges": {}}', '{"width": "a"}',
     '{"width": 1, "height": 1, "histogram": 3, "edges": 4}'],
)  # fmt: skip
def test_numbers_that_are_none_are_no_verdict(picture, text):
    assert picture.check(text) is None
