"""Several photos of one side, a lever between its stops, a drain against gravity; on both Pythons."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from demo.camera import Camera
from pwa.app.record.chain import digest
from tests.app.screens.test_joint_screens import JOINT, PIXELS, scene, taps
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT

LEVER, DRAIN = "actuator-lever", "drain-direction"


def shoot(phone, job, sha, moment, joint=JOINT, **fields):
    """Photograph; the hash is one letter, many times."""
    given = {
        "photo_sha256": sha * 64, "photo_size": "9", "photo_type": "image/jpeg", "width": "1200",
        "height": "900", "joint": joint, "moment": moment, "caption": "x", "pixels": json.dumps(PIXELS),
        "then": f"{job}/joint/{joint}",
    }  # fmt: skip
    return phone.post(f"{job}/photo", **given | fields)


def mark(phone, job, sha, moment, turned=0.0, joint=JOINT, **changed):
    """Photograph a joint whose moving part is turned by so much, and tap all of it."""
    before = scene("before")
    shoot(phone, job, sha, moment, joint)
    taken = replace(before, moving_deg=before.moving_deg + turned, seed=before.seed + ord(sha))
    return phone.post(f"{job}/marks/{sha * 64}", **taps(taken, **changed))


def allow(phone, job, degrees="2"):
    return phone.post(
        f"{job}/joint/{JOINT}/tolerance", degrees=degrees, source="shop rule", bolts="", diameter=""
    )


def verdicts(page):
    return [item.get_text(" ", strip=True) for item in page.select(".verdict")]


def test_three_photos_of_one_side_agree_and_count_together(phone, job):
    for sha, turned in (("a", 0.1), ("b", -0.1), ("c", 0.0)):
        page = mark(phone, job, sha, "before", turned)
    [said] = verdicts(page)
    assert said.startswith("3 photos agree: 0.")
    assert said.endswith("(95 %).")
    assert [item.text for item in page.select("h3")] == ["Photo 1", "Photo 2", "Photo 3"]
    allow(phone, job)
    page = mark(phone, job, "d", "after", 1.0)
    single = phone.of_kind("marks")[-1]["reading"]["u"]
    turn = page.select_one(".verdict").text
    low, high = (float(part.strip("°")) for part in turn.split("95 %: ")[1].split(")")[0].split(" to "))
    assert low < 1.0 < high
    assert (high - low) / 2 < 1.96 * single * math.sqrt(2) * 0.95  # the three are surer than one of them
    report = phone.get(f"{job}/summary").select_one(".joint")
    assert "3 photos agree" in report.text
    assert len(report.select(".shot")) == 4
    assert "1.0° clockwise" in report.text


def test_a_photo_that_is_off_is_named_left_out_with_a_reason_and_taken_back_in(phone, job):
    allow(phone, job)
    for sha, turned in (("a", 0.0), ("b", 0.1), ("c", 9.0)):
        mark(phone, job, sha, "before", turned)
    page = mark(phone, job, "d", "after")
    assert any("do not agree" in said and "Photo 3 is" in said for said in verdicts(page))
    address = f"{job}/joint/{JOINT}/counts/before/{'c' * 64}"
    page = phone.post(address, counts="", reason="")
    assert phone.status == 422
    assert "Write why" in page.select_one("[role=alert]").text
    page = phone.post(address, counts="", reason="wrong dot")
    assert any("2 photos agree" in said for said in verdicts(page))
    assert "Does not count: wrong dot" in page.text
    assert page.select_one(".verdict.good")
    assert "wrong dot" in phone.get(f"{job}/summary").text
    assert "does not count (wrong dot)" in phone.get(f"{job}/timeline").text
    page = phone.post(address, counts="yes")
    assert any("do not agree" in said for said in verdicts(page))
    phone.post(f"{job}/joint/{JOINT}/counts/after/{'c' * 64}", counts="", reason="not of this side")
    assert phone.status == 404


def chained(phone, records):
    """Give the phone these records, each with the hash of the one before it."""
    phone.texts, head = [], ""
    for record in records:
        phone.texts.append(json.dumps({**record, "prev": head}))
        head = digest(phone.texts[-1])
    phone.device["head"] = head


def test_marking_the_same_photo_again_replaces_its_reading_and_both_are_seen(phone, job):
    mark(phone, job, "a", "before")
    page = mark(phone, job, "b", "before")
    assert "2 photos agree" in verdicts(page)[0]
    page = phone.post(f"{job}/marks/{'a' * 64}", **taps(replace(scene("before"), moving_deg=-55.0)))
    assert len(page.select(".shot")) == 2
    assert page.select_one("details ul li").text.startswith("0.8°")
    assert "1 other reading" in page.text


def test_a_photo_that_replaced_the_one_before_it_in_an_older_job_still_counts_alone(phone, job):
    mark(phone, job, "a", "before", 5.0)
    mark(phone, job, "b", "before")
    first, second = (record for record in phone.records if record["kind"] == "marks")
    old = dict(second, replaces=[first["id"]])  # as every version wrote it while one photo a side counted
    for name in ("limit", "noise", "shift", "nearness", "perspective", "advice"):
        del old["data"]["reading"][name]
    chained(phone, [old if record["id"] == old["id"] else record for record in phone.records])
    page = phone.get(f"{job}/joint/{JOINT}")
    assert "agree" not in page.text
    assert "5.8° ±" in page.select_one("details ul li").text  # seen, though it does not count
    page = mark(phone, job, "c", "before", 0.1)
    assert "2 photos agree" in verdicts(page)[0]


def test_the_same_place_cancels_between_one_photo_a_side_only(phone, job):
    allow(phone, job)
    mark(phone, job, "a", "before", centre="")
    page = mark(phone, job, "b", "after", centre="", same_view="yes")
    assert "Both photos are from the same place" in verdicts(page)[0]
    page = mark(phone, job, "c", "before", centre="")
    assert "nothing cancels" in verdicts(page)[0]


def test_two_phones_that_mark_other_photos_are_no_conflict(phone, job):
    mark(phone, job, "a", "before")
    desk = Desk(CONTENT, host="desk", name="Desk")
    desk.texts, known = list(phone.texts), len(phone.texts)
    mark(phone, job, "b", "before")
    mark(desk, job, "c", "before")
    phone.texts += desk.texts[known:]
    assert "3 photos agree" in phone.get(f"{job}/joint/{JOINT}").text


def test_a_lever_s_travel_between_its_stops_is_judged_by_the_shop_s_limits(phone, job):
    page = phone.get(f"{job}/joint/{LEVER}")
    assert "crush" in page.select_one(".caution").text
    assert [item.text for item in page.select("h2")][1:] == [
        "Against the open stop",
        "Against the closed stop",
        "Limits",
    ]
    mark(phone, job, "a", "open-stop", 0.0, LEVER)
    assert "one side only" in phone.get(f"{job}/summary").text
    page = mark(phone, job, "b", "closed-stop", 48.0, LEVER)
    assert "The lever went 48." in verdicts(page)[0]
    assert page.select_one(".verdict.plain")
    limits = f"{job}/joint/{LEVER}/limits"
    for given, wanted in (
        ({"least": "50", "most": "45", "source": "x"}, "least travel"),
        ({"least": "45", "most": "50", "source": ""}, "where the limits come from"),
        ({"least": "45", "most": "", "source": "x"}, "Limits:"),
    ):
        assert wanted in phone.post(limits, length="", **given).select_one("[role=alert]").text
        assert phone.status == 422
    page = phone.post(limits, least="45", most="51", length="40", source="shop rule")
    assert "within 45° to 51°" in page.select_one(".verdict.good").text
    assert "its pin 32." in page.text  # 2 x 40 mm x sin 24 degrees = 32.5 mm
    assert "outside 50° to 60°" in phone.post(limits, least="50", most="60", length="", source="x").text
    report = phone.get(f"{job}/summary")
    assert "outside 50° to 60°" in report.select_one(".joint .verdict.bad").text
    assert len(report.select(".joint .shot ellipse.line")) == 2
    assert "Limits 50.0° to 60.0°" in report.text
    assert phone.get(f"{job}/joint/{LEVER}/compare").select("image[transform]")


def test_a_lever_s_marks_may_sit_off_the_rim(phone, job):
    camera = Camera(distance=12.0, tilt=math.radians(30), roll=0.4, zoom=150.0, middle=(600.0, 450.0))
    rim = [list(point) for point in camera.circle(1.0, count=12)]
    for sha, moment, at in (("a", "open-stop", 20.0), ("b", "closed-stop", 75.0)):
        shoot(phone, job, sha, moment, LEVER)
        page = phone.post(
            f"{job}/marks/{sha * 64}", rim=json.dumps(rim), centre=json.dumps(camera.see(0.0, 0.0)),
            fixed=json.dumps(camera.see(1.5, -1.0)), moving=json.dumps(camera.see(2.2, math.radians(at))),
        )  # fmt: skip
    assert "The lever went 55.0°" in verdicts(page)[0]


@pytest.fixture
def drain():
    """Taps of a drain 30 degrees from straight down, in a plane tilted 25 degrees to a level camera."""
    camera = Camera(
        distance=12.0, tilt=math.radians(25), roll=math.radians(8), zoom=285.0, middle=(600.0, 450.0)
    )
    axes = np.array(
        [[1, 0, 0], [0, math.cos(camera.tilt), math.sin(camera.tilt)]]
    )  # of the plane, z into the scene
    c, s = math.cos(camera.roll), math.sin(camera.roll)
    across, along = axes @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
    down = np.array([0.0, 1.0, 0.0])
    angles = np.radians(np.arange(0, 360, 0.1))
    ways = np.outer(np.cos(angles), across) + np.outer(np.sin(angles), along)
    away = np.degrees(np.arccos(ways @ down))
    at = angles[np.argmin(np.abs(away - 30.0))]
    return {
        "rim": json.dumps([list(point) for point in camera.circle(1.0, count=12)]),
        "centre": json.dumps(camera.see(0.0, 0.0)),
        "fixed": json.dumps(camera.see(0.3, at)),
        "moving": json.dumps(camera.see(1.6, at)),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("gravity", "turned"),
    [([0, 9.8, 0], 0), ([0, -9.8, 0], 0), ([9.8, 0, 0], 90), ([-9.8, 0, 0], 90), ([-9.8, 0, 0], 270)],
    ids=["upright", "other sign", "on its side", "on its side, other sign", "on its other side"],
)
def test_a_drain_is_judged_against_gravity_whatever_sign_the_phone_gives(phone, job, drain, gravity, turned):
    """W3C Device Orientation and Motion: at rest and upright y is +9.8 m/s2; some give all three reversed."""
    shoot(phone, job, "a", "before", DRAIN, gravity=json.dumps(gravity), turned=str(turned))
    page = phone.post(f"{job}/marks/{'a' * 64}", **drain)
    assert abs(phone.of_kind("marks")[-1]["reading"]["off"] - 30.0) < 1.0
    assert "Before opening: The drain points 30° away from straight down" in verdicts(page)[0]
    x, y = (float(part) for part in page.select_one(".down .line")["d"].split("L")[1].split("M")[0].split())
    assert (abs(x - 600), y > 600) == (pytest.approx(0, abs=30), True)  # the arrow points down the picture
    page = phone.post(f"{job}/joint/{DRAIN}/tolerance", degrees="20", source="shop rule")
    assert "more than 20°" in page.select_one(".verdict.bad").text
    report = phone.get(f"{job}/summary").text
    assert "Tolerance 20.0° from straight down" in report
    assert "Marks: Oil drain direction." in report


@pytest.mark.parametrize(
    ("gravity", "said"),
    [("", "does not know which way is down"), ("[0.2, 0.3, 9.8]", "upright"), ("[9.8, 0.1, 0]", "upright")],
    ids=["no sensor", "looking straight down", "on its side, screen not turned"],
)
def test_a_drain_s_photo_that_does_not_know_down_is_kept_and_says_so(phone, job, drain, gravity, said):
    page = shoot(phone, job, "a", "before", DRAIN, gravity=gravity)
    assert said in page.select_one(".verdict.bad").text
    assert page.select("a[href*='/marks/']") == []
    assert page.select_one("a[href$='/camera/before']")
    phone.get(f"{job}/marks/{'a' * 64}")
    assert phone.status == 404
    page = phone.post(f"{job}/marks/{'a' * 64}", **drain)
    assert phone.of_kind("marks") == []


def test_before_and_after_of_a_drain_stand_beside_each_other(phone, job, drain):
    for sha, moment in (("a", "before"), ("b", "after")):
        shoot(phone, job, sha, moment, DRAIN, gravity="[0, 9.8, 0]")
        page = phone.post(f"{job}/marks/{sha * 64}", **drain)
    assert "After closing: The drain points 30°" in verdicts(page)[0]
    assert "Before opening: 30° from straight down" in verdicts(page)[0]
    assert phone.get(f"{job}/joint/{DRAIN}/compare").select("image[transform]") == []
