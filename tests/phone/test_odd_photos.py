"""Files that are no good photos: kept byte for byte and named, or, if there is nothing in them, refused."""

import hashlib
import io

import pytest
from PIL import Image

from demo import photos
from tests.phone.browser import Browser
from tests.phone.test_marks import kept


def jpeg() -> bytes:
    return photos.render(photos.scenes()["electrical/turbine-housing/before"])[0]


def huge() -> bytes:
    """900 million pixels in a tenth of a megabyte."""
    file = io.BytesIO()
    Image.new("1", (30_000, 30_000)).save(file, "PNG")
    return file.getvalue()


@pytest.fixture
def note_page(alone: Browser) -> Browser:
    alone.page.goto(f"{alone.root}{alone.new_job()}/note")
    return alone


def choose(phone: Browser, name: str, kind: str, content: bytes) -> None:
    phone.page.fill("[name=caption]", "typed before")
    phone.page.set_input_files(
        "form.photo input[type=file]", {"name": name, "mimeType": kind, "buffer": content}
    )


def test_what_is_damaged_or_no_picture_is_kept_as_it_came_and_called_that(note_page: Browser) -> None:
    phone, form = note_page, note_page.page.url
    before = {row["sha256"] for row in phone.stored("photos")}
    files = {
        "cut.jpg": ("image/jpeg", jpeg()[: len(jpeg()) // 2]),
        "text.jpg": ("image/jpeg", b"dear diary"),
        "huge.png": ("image/png", huge()),
    }
    for number, (name, (kind, content)) in enumerate(files.items(), 1):
        phone.page.goto(form)
        choose(phone, name, kind, content)
        phone.page.wait_for_selector("text=This file is damaged, is no picture, or is too large")
        kept = {row["sha256"]: (row["length"], row["type"]) for row in phone.stored("photos")}
        assert kept[hashlib.sha256(content).hexdigest()] == (len(content), kind)
        assert len(kept.keys() - before) == number
        assert phone.page.input_value("[name=caption]") == "typed before"


def test_an_empty_file_is_refused_and_the_form_stays_as_it_was(note_page: Browser) -> None:
    before = note_page.stored("photos")
    choose(note_page, "IMG_1.jpg", "image/jpeg", b"")
    note_page.page.wait_for_selector("text=This file is empty")
    assert note_page.page.input_value("[name=caption]") == "typed before"
    assert (note_page.stored("photos"), note_page.stored("journal")) == (before, [])
    choose(note_page, "IMG_2.jpg", "image/jpeg", jpeg())
    note_page.page.wait_for_selector("ol.timeline:has-text('typed before')")


def test_what_was_typed_before_the_camera_opened_is_there_when_the_browser_did_not_survive_it(
    note_page: Browser,
) -> None:
    phone, page = note_page, note_page.page.url
    phone.page.fill("[name=caption]", "typed before the camera")
    with phone.page.expect_file_chooser():
        phone.page.click("form.photo .shutter")
    for _ in range(200):
        if kept(phone, "layby camera"):
            break
        phone.page.wait_for_timeout(50)
    else:
        pytest.fail("the page did not remember within 200 looks that the camera was opened")
    phone.kill()
    phone.start()
    phone.page.goto(page.split("/job/")[0])
    phone.page.click("text=You were taking a photo")
    phone.page.wait_for_function(
        "() => document.querySelector('[name=caption]')?.value === 'typed before the camera'"
    )
