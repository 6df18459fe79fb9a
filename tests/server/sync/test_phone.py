"""Two phones with the real notebook, one shop, real HTTP: a job ends up whole everywhere."""

import io
import json
from collections import defaultdict

import pytest
from PIL import Image

from demo.phone import Phone, Refusal
from pwa.app.notebook import Notebook
from server.desk.notebook import Pages
from tests.helpers.servers import Server

OPENING = {"unit": "Truck 7", "complaint": "no power uphill", "place": "bay", "drive": "electric"}


@pytest.fixture(scope="module")
def notebook():
    return Notebook(defaultdict(list), Pages().render)  # content with nothing in it


@pytest.fixture
def shop(tmp_path, notebook):
    running = Server(tmp_path, book=notebook)
    yield running
    running.stop()


@pytest.fixture
def phones(shop, notebook):
    made = []
    for name in ("Bay 2 phone", "Roadside phone"):
        phone = Phone(shop.url, notebook)
        phone.enrol(shop.shop.new_code("phone"), name)
        made.append(phone)
    return made


def opened(phone):
    phone.post("/job/new", OPENING)
    return json.loads(list(phone.records.values())[-1])["job"]


def test_a_job_started_on_one_phone_opens_on_the_other(shop, phones):
    one, two = phones
    job = opened(one)
    assert "is not on this device yet" in two.get(f"/job/{job}/timeline")
    assert one.sync() == []
    two.sync()
    assert "no power uphill" in two.get("/")
    two.post(f"/job/{job}/note", {"text": "soot in the outlet"})
    two.sync()
    one.sync()
    assert "soot in the outlet" in one.get(f"/job/{job}/timeline")
    assert set(one.records) == set(two.records)


def test_a_photo_goes_along(shop, phones):
    one, _ = phones
    file = io.BytesIO()
    Image.effect_noise((1200, 900), 90).save(file, "JPEG")
    job = opened(one)
    one.post(f"/job/{job}/note", {"text": "outlet"}, photo=file.getvalue())
    one.sync()
    (sha256,) = one.photos
    assert shop.shop.photos.find(sha256)[0].read_bytes() == file.getvalue()


def test_a_phone_that_is_not_enrolled_keeps_its_records(shop, notebook):
    phone = Phone(shop.url, notebook)
    opened(phone)
    with pytest.raises(Refusal, match="not enrolled"):
        phone.sync()
    phone.enrol(shop.shop.new_code("phone"), "Late")
    assert phone.sync() == []
    assert len(shop.shop.ledger.of_kinds(["job-opened"])) == 1


def test_many_records_go_in_batches(shop, phones):
    one, two = phones
    job = opened(one)
    for number in range(250):
        one.post(f"/job/{job}/note", {"text": f"note {number}"})
    one.sync()
    two.sync()
    one.sync()
    assert len(one.records) == 253  # with the names of both
    assert two.records.keys() == one.records.keys()
