"""Taking and marking photos in a real browser with fingers, on drawn photos whose angle is known."""

import hashlib
import io
import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageFilter

from demo import photos
from pwa.app.joints import photo_quality
from tests.app.joints.test_photo_quality import measured
from tests.helpers.servers import Server
from tests.phone.browser import SIZE, Browser
from tests.phone.touch import Fingers, Point

JOINT = "compressor-housing"
CAMERA = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")


@pytest.fixture
def phone(alone: Browser) -> Browser:
    return alone


@pytest.fixture
def job(phone: Browser) -> str:
    return begin(phone)


def begin(phone: Browser) -> str:
    """The address of a new job whose cautions are accepted."""
    path = phone.new_job()
    phone.accept_all(path)
    return phone.root + path


def data_of(phone: Browser, kind: str) -> list[dict[str, Any]]:
    """Of the open page's job."""
    records = [json.loads(row["text"]) for row in phone.stored("records") if row["kind"] == kind]
    return [record["data"] for record in records if f"/job/{record['job']}/" in f"{phone.page.url}/"]


def photograph(
    phone: Browser, job: str, moment: str, file: Path | str | dict[str, Any], joint: str = JOINT
) -> None:
    phone.page.goto(f"{job}/joint/{joint}")
    phone.page.locator(f"form.photo:has(input[value={moment}]) input[type=file]").set_input_files(file)
    phone.page.wait_for_selector("h1:has-text('Tap the marks'), h1:has-text('again?'), h1:has-text('Kept')")


def kept(phone: Browser, start: str) -> int:
    """How many things the page keeps for later under keys that start like this."""
    return int(
        phone.page.evaluate(
            """start => new Promise((done) => {
                const opening = indexedDB.open("layby-page");
                opening.onsuccess = () => {
                    const all = opening.result.transaction("kept").objectStore("kept").getAllKeys();
                    all.onsuccess = () => done(all.result.filter((key) => key.startsWith(start)).length);
                };
            })""",
            start,
        )
    )


class Marker:
    """A technician's thumb on the marking page."""

    def __init__(self, page: Any) -> None:
        self.page, self.fingers = page, Fingers(page)

    def place(self, point: list[float]) -> Point:
        """Where an image point is on the screen, scrolled into the view of the photo."""
        self.page.evaluate(
            """([x, y]) => {
                const view = document.querySelector(".viewport"), stage = document.querySelector(".stage");
                const scale = stage.clientWidth / 1200;
                view.scrollIntoView({block: "nearest"});
                view.scrollTo(x * scale - view.clientWidth / 2, y * scale - view.clientHeight / 2);
            }""",
            point,
        )
        box = self.page.locator(".stage").bounding_box()
        scale = box["width"] / 1200
        return box["x"] + point[0] * scale, box["y"] + point[1] * scale

    def tap(self, point: list[float]) -> None:
        self.fingers.slide(self.place(point))

    def slide_to(self, point: list[float]) -> None:
        """Miss first, as thumbs do, then slide until the magnifier shows the place."""
        x, y = self.place(point)
        self.fingers.slide((x + 9, y - 7), (x + 3, y - 2), (x, y))

    def choose(self, tool: str) -> None:
        self.page.locator(f"label:has([name=tool][value={tool}])").click()

    def points(self, name: str) -> Any:
        return json.loads(self.page.input_value(f"input[type=hidden][name={name}]") or "null")


def test_thumbs_on_two_photos_give_the_known_angles(phone: Browser, job: str) -> None:
    for moment in ("before", "after"):
        jpeg, truth = photos.render(photos.scenes()[f"mechanical/{JOINT}/{moment}"])
        file = {"name": "IMG.jpg", "mimeType": "image/jpeg", "buffer": jpeg}
        photograph(phone, job, moment, file)
        thumb = Marker(phone.page)
        width = phone.page.locator(".stage").bounding_box()["width"]
        thumb.fingers.pinch(thumb.place(truth.centre), 60, 180)
        assert phone.page.locator(".stage").bounding_box()["width"] == pytest.approx(3 * width, rel=0.1)
        assert thumb.points("rim") is None  # the first of the two fingers set nothing
        for number, point in enumerate(truth.rim):
            (thumb.tap if number % 2 else thumb.slide_to)(point)
        for name in ("fixed", "moving", "centre"):
            thumb.choose(name)
            thumb.slide_to(getattr(truth, name))
        phone.page.wait_for_selector("#said:has-text('±')")
        phone.page.wait_for_selector("#drawn ellipse")
        phone.page.click("button:has-text('Save marks')")
        phone.page.wait_for_selector("h2:has-text('Before opening')")
        marks = data_of(phone, "marks")[-1]
        assert len(marks["rim"]) == len(truth.rim)
        assert kept(phone, "taps") == 0
        assert abs(marks["reading"]["angle"] - truth.angle) < min(0.6, 2 * marks["reading"]["u"])
    phone.page.click("text=Compare the photos")
    phone.page.wait_for_selector(".compare")
    phone.page.locator("label:has([value=through])").click()
    assert phone.page.locator(".over image").count() == 2


# What a person taps beside the rim to take perspective out, how far the camera stands (rim radii), its tilt
# (degrees), and how far off the angle may be at most (degrees).
POSES = [("", 10.0, 20.0, 2.5), ("centre", 6.0, 40.0, 1.0), ("holes", 5.0, 40.0, 1.0)]


def test_three_tilted_photos_of_one_joint_each_give_its_angle_and_agree(phone: Browser, job: str) -> None:
    for number, (beside, distance, tilt, bound) in enumerate(POSES):
        scene = photos.Scene(62.0, 62.0 * distance, tilt, 25.0 * number, -62.0, -40.0, 8, 60 + number)
        jpeg, truth = photos.render(scene)
        file = {"name": "IMG.jpg", "mimeType": "image/jpeg", "buffer": jpeg}
        photograph(phone, job, "before", file, "turbine-housing")
        thumb = Marker(phone.page)
        thumb.fingers.pinch(thumb.place(truth.centre), 60, 180)
        for point in truth.rim:
            thumb.tap(point)
        for name in ("fixed", "moving", *([beside] if beside == "centre" else [])):
            thumb.choose(name)
            thumb.tap(getattr(truth, name))
        if beside == "holes":
            thumb.choose("holes")
            for bolt in photos.bolts(scene)[::3]:
                thumb.tap(bolt)
            phone.page.fill("[name=bolts]", "8")
        phone.page.click("button:has-text('Save marks')")
        phone.page.wait_for_selector("h2:has-text('Before opening')")
        reading = data_of(phone, "marks")[-1]["reading"]
        assert reading["low"] < truth.angle < reading["high"]
        assert abs(reading["angle"] - truth.angle) < bound
        assert reading["perspective"] == ("removed" if beside else "bounded")
    assert "3 photos agree: 2" in phone.page.inner_text(".verdict.good")


def test_the_rim_is_led_round_and_undo_takes_a_tap_back(phone: Browser, job: str) -> None:
    jpeg, truth = photos.render(photos.scenes()[f"electrical/{JOINT}/before"])
    photograph(phone, job, "before", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg})
    thumb = Marker(phone.page)
    for point in truth.rim[:6]:
        thumb.tap(point)
    phone.page.wait_for_selector("#said:has-text('of the rim have no tap')")
    aim = phone.page.locator("circle.aim")
    at = [float(aim.get_attribute(name) or 0) for name in ("cx", "cy")]
    nearest = min(truth.rim, key=lambda point: abs(point[0] - at[0]) + abs(point[1] - at[1]))
    assert truth.rim.index(nearest) in (8, 9)  # the middle of the half that has no tap
    thumb.tap(at)
    assert len(thumb.points("rim")) == 7
    phone.page.click("[data-do=undo]")
    assert len(thumb.points("rim")) == 6


@pytest.mark.parametrize(("across", "side"), [(0.2, "right"), (0.8, "left")])
def test_the_magnifier_is_on_the_side_where_the_finger_is_not(
    phone: Browser, job: str, across: float, side: str
) -> None:
    jpeg, _ = photos.render(photos.scenes()[f"electrical/{JOINT}/before"])
    photograph(phone, job, "before", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg})
    box = phone.page.locator(".viewport").bounding_box()
    phone.page.mouse.move(box["x"] + box["width"] * across, box["y"] + box["height"] / 2)
    phone.page.mouse.down()
    phone.page.locator(".loupe").wait_for()
    glass = phone.page.locator(".loupe").bounding_box()
    assert (glass["x"] > SIZE["width"] / 2 - 20) == (side == "right")
    assert phone.page.evaluate("document.documentElement.scrollWidth") <= SIZE["width"]
    phone.page.mouse.up()


def test_a_phone_that_dies_while_marking_goes_on_where_it_was(phone: Browser, job: str) -> None:
    jpeg, truth = photos.render(photos.scenes()[f"electrical/{JOINT}/before"])
    photograph(phone, job, "before", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg})
    thumb = Marker(phone.page)
    for point in truth.rim[:5]:
        thumb.tap(point)
    phone.page.wait_for_selector("#drawn ellipse")
    address = phone.page.url
    phone.kill()
    phone.start()
    phone.page.goto(address)
    phone.page.wait_for_selector("#drawn ellipse")
    assert len(Marker(phone.page).points("rim")) == 5


def test_a_blurred_photo_is_stored_and_offered_to_be_taken_again(phone: Browser, job: str) -> None:
    jpeg, _ = photos.render(photos.scenes()[f"mechanical/{JOINT}/before"])
    sharp = Image.open(io.BytesIO(jpeg))
    blurred = io.BytesIO()
    sharp.filter(ImageFilter.GaussianBlur(5)).save(blurred, "JPEG", quality=90)
    photograph(
        phone, job, "before", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": blurred.getvalue()}
    )
    assert "Blurred" in phone.page.inner_text(".verdict.bad")
    [data] = data_of(phone, "photo")
    assert data["sha256"] in {row["sha256"] for row in phone.stored("photos")}
    phone.page.locator("form.photo input[type=file]").set_input_files(
        {"name": "y.jpg", "mimeType": "image/jpeg", "buffer": jpeg}
    )
    phone.page.wait_for_selector("h1:has-text('Tap the marks')")
    bad, good = data_of(phone, "photo")
    for data, image in ((bad, Image.open(blurred)), (good, sharp)):
        ours = photo_quality.check(json.dumps(measured(image)))
        assert ours
        assert data["checked"]["blur"] == pytest.approx(
            ours["blur"], rel=0.12
        )  # another decoder, another scaler
        assert data["checked"]["dark"] == pytest.approx(ours["dark"], abs=0.02)


def test_a_format_the_browser_cannot_show_is_kept_byte_for_byte(phone: Browser, job: str) -> None:
    bytes_ = b"\x00\x00\x00\x18ftypheic" + bytes(range(256)) * 40
    photograph(phone, job, "before", {"name": "IMG_1.HEIC", "mimeType": "image/heic", "buffer": bytes_})
    assert "HEIC" in phone.page.inner_text(".verdict.unsure")
    [kept] = [row for row in phone.stored("photos") if row["sha256"] == hashlib.sha256(bytes_).hexdigest()]
    assert (kept["length"], kept["type"]) == (len(bytes_), "image/heic")


def test_a_page_that_ended_while_the_camera_was_open_offers_the_way_back(phone: Browser, job: str) -> None:
    phone.page.goto(f"{job}/joint/{JOINT}")
    with phone.page.expect_file_chooser():
        phone.page.locator("form.photo input[type=file]").first.click()
    for _ in range(100):  # a camera is open for longer than it takes to write this down
        if not kept(phone, "layby camera"):
            phone.page.wait_for_timeout(50)
    phone.kill()
    phone.start()
    phone.page.goto(job.split("/job/")[0])
    phone.page.click("text=You were taking a photo")
    phone.page.wait_for_selector("h2:has-text('Before opening')")


def test_the_live_camera_shows_the_photo_from_before_and_takes_one(new_browser: Any, server: Server) -> None:
    phone = new_browser(*CAMERA)
    phone.install(server.url)
    job = begin(phone)
    jpeg, _ = photos.render(photos.scenes()[f"electrical/{JOINT}/before"])
    photograph(phone, job, "before", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg})
    phone.page.goto(f"{job}/joint/{JOINT}")
    phone.page.click("text=Line it up with the first photo")
    phone.page.wait_for_selector("layby-camera.on video")
    assert phone.page.locator(".live image.ghost").count() == 1
    phone.page.locator(".through input").fill("0.8")
    assert phone.page.evaluate("getComputedStyle(document.querySelector('.ghost')).opacity") == "0.8"
    phone.page.click("button:has-text('Take the photo')")
    phone.page.wait_for_selector("h1:has-text('Tap the marks'), h1:has-text('Take it again')")
    assert [data["moment"] for data in data_of(phone, "photo")] == ["before", "after"]
    assert phone.console == []


# A browser that gives no motion until a person has tapped for it, and then gives it.
SHY = """
    DeviceMotionEvent.requestPermission = async () => { shaken = setInterval(shake, 20); return "granted"; };
    let shaken;
    function shake() {
        const accelerationIncludingGravity = { x: -0.5, y: -9.7, z: 1 };
        dispatchEvent(new DeviceMotionEvent("devicemotion", { accelerationIncludingGravity }));
    }
"""


def test_the_live_camera_asks_for_the_level_and_the_photo_keeps_which_way_is_down(
    new_browser: Any, server: Server
) -> None:
    phone = new_browser(*CAMERA)
    phone.install(server.url)
    job = begin(phone)
    phone.page.add_init_script(SHY)
    phone.page.goto(f"{job}/joint/drain-direction/camera/before")
    phone.page.wait_for_selector("layby-camera.on video")
    assert phone.page.locator(".live circle").count() == 1  # the ring
    assert phone.page.locator(".level").is_hidden()
    phone.page.click("button:has-text('Show the level')")
    phone.page.wait_for_selector(".level path[transform^='rotate']", state="attached")
    assert phone.page.locator("button:has-text('Show the level')").is_hidden()
    phone.page.click("button:has-text('Take the photo')")
    phone.page.wait_for_selector("h1:has-text('Tap the marks'), h1:has-text('Take it again')")
    [photo] = data_of(phone, "photo")
    assert photo["gravity"] == pytest.approx([-0.5, -9.7, 1.0])
    assert photo["turned"] == 0
    phone.page.goto(f"{job}/joint/drain-direction")
    assert phone.page.locator("text=Tap the marks").count() == 1
    sharp = photos.scenes()[f"electrical/{JOINT}/before"]
    phone.page.locator("form.photo:has(input[value=after]) input[type=file]").set_input_files(
        {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": photos.render(sharp)[0]}
    )
    phone.page.wait_for_selector(".verdict.bad:has-text('does not know which way is down')")


def test_without_a_camera_the_page_says_so_and_the_form_remains(phone: Browser, job: str) -> None:
    phone.page.goto(f"{job}/joint/{JOINT}/camera/before")
    phone.page.wait_for_selector("text=No live camera here")
    assert phone.page.locator("form.photo input[type=file]").count() == 1
