"""Joints: what is asked before opening, photos that are no good, marks set again, before laid over after."""

import json
import math
from dataclasses import replace

import pytest

from demo import photos
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT

JOINT = "turbine-housing"
OPENED = [joint for joint in CONTENT["joints"] if joint["opens"]]
SHA = {"before": "a" * 64, "after": "b" * 64}
PIXELS = {"width": 4000, "height": 3000, "histogram": [1] * 16,
          "edges": {"x": [[40, 100]] * 8, "y": [[40, 100]] * 8}}  # fmt: skip


@pytest.fixture
def fresh(phone):
    """A job with its cautions accepted, and nothing said about opening."""
    path = phone.open_job()
    for caution in CONTENT["cautions"]:
        phone.post(f"{path}/safe", caution=caution["key"])
    return path


def photograph(phone, job, moment="before", joint=JOINT, sha=None, **fields):
    given = {
        "photo_sha256": sha or SHA[moment], "photo_size": "2200000", "photo_type": "image/jpeg",
        "width": "1200", "height": "900", "joint": joint, "moment": moment, "caption": "rim",
        "pixels": json.dumps(PIXELS), "then": f"{job}/joint/{joint}",
    }  # fmt: skip
    return phone.post(f"{job}/photo", **given | fields)


def taps(scene, **changed):
    truth = photos.truth(scene)
    found = {name: json.dumps(getattr(truth, name)) for name in ("rim", "fixed", "moving", "centre")}
    return found | changed


def scene(moment, joint=JOINT, job="electrical"):
    return photos.scenes()[f"{job}/{joint}/{moment}"]


def mark(phone, job, moment, joint=JOINT, **changed):
    photograph(phone, job, moment, joint)
    return phone.post(f"{job}/marks/{SHA[moment]}", **taps(scene(moment, joint), **changed))


def test_the_step_that_opens_warns_of_every_joint_without_a_photo(phone, fresh):
    photograph(phone, fresh)
    page = phone.get(f"{fresh}/repair")
    assert page.h1.text == "Before it is opened"
    warned = page.select_one(".verdict.bad").text
    assert "Turbine housing" not in warned
    assert all(joint["name"] in warned for joint in OPENED if joint["key"] != JOINT)


def test_it_goes_on_with_a_reason_that_stays_in_the_record(phone, fresh):
    refused = phone.post(f"{fresh}/unphotographed/repair", reason="", other="")
    assert phone.status == 422
    assert "Say why" in refused.select_one("[role=alert]").text
    page = phone.post(f"{fresh}/unphotographed/repair", reason="", other="seized, came apart by itself")
    assert page.h1.text == "Repair"
    [said] = phone.of_kind("unphotographed")
    assert said["joints"] == [joint["key"] for joint in OPENED]
    summary = phone.get(f"{fresh}/summary").text
    assert "seized, came apart by itself" in summary
    assert phone.get(f"{fresh}/repair").h1.text == "Repair"


def after_a_photo(phone, job, then):
    """Where a photo of no joint leads, when its form says so."""
    phone.post(
        f"{job}/photo", photo_sha256=SHA["before"], photo_size="9", photo_type="image/jpeg",
        width="1200", height="900", joint="", moment="", caption="", then=then,
    )  # fmt: skip
    return phone.location


@pytest.mark.parametrize("then", ["", "/note", "/joint/turbine-housing"])
def test_a_photo_leads_back_to_where_it_was_taken(phone, fresh, then):
    assert after_a_photo(phone, fresh, fresh + then) == fresh + then


@pytest.mark.parametrize(
    "then",
    [
        "", "{job}-evil", "{job}x/note", "/job/another/note", "/settings",
        "{job}/../another/note", "{job}/./note",
        "{job}//elsewhere.example", "//elsewhere.example", "//elsewhere.example{job}",
        "https://elsewhere.example{job}/note", "javascript:alert(1)", "\\\\elsewhere.example",
        "{job}\\..\\another", "{job}/\\elsewhere.example", "{job}/%2e%2e/another",
        "{job}/note\r\nSet-Cookie: a=b", "{job}/note\n/",
        "{job}/note?no-room=1", "{job}@elsewhere.example", "{job}/",
    ],
)  # fmt: skip
def test_a_photo_never_leads_out_of_its_job(phone, fresh, then):
    """A form's hidden field is whatever a request says it is."""
    assert after_a_photo(phone, fresh, then.replace("{job}", fresh)) == f"{fresh}/timeline"


def test_nothing_is_asked_once_every_joint_has_its_photo(phone, fresh):
    for number, joint in enumerate(OPENED):
        photograph(phone, fresh, joint=joint["key"], sha=str(number) * 64)
    assert phone.get(f"{fresh}/repair").h1.text == "Repair"
    assert phone.get(f"{fresh}/joints").select(".verdict.unsure") == []


def test_no_step_is_excused_that_opens_nothing(phone, fresh):
    phone.post(f"{fresh}/unphotographed/codes", reason="why not")
    assert phone.status == 404


def test_every_joint_tells_what_to_clean_mark_hold_and_photograph(phone, job):
    for joint in CONTENT["joints"]:
        guide = [item.strong.text for item in phone.get(f"{job}/joint/{joint['key']}").select(".guide li")]
        assert guide[:4] == ["clean", "mark", "hold the phone", "photograph"]


def test_a_good_photo_leads_to_its_marks_and_a_blurred_one_to_the_question(phone, job):
    assert photograph(phone, job).h1.text == "Tap the marks"
    blurred = PIXELS | {"edges": {"x": [[10, 100]] * 8, "y": [[40, 100]] * 8}}
    page = photograph(phone, job, "after", pixels=json.dumps(blurred))
    assert "Blurred" in page.select_one(".verdict.bad").text
    assert page.select_one("form.photo input[name=moment]")["value"] == "after"
    assert page.select_one(f"a[href$='/marks/{SHA['after']}']")
    assert len(phone.of_kind("photo")) == 2
    assert "Blurred" in phone.get(f"{job}/joint/{JOINT}").text


def test_a_photo_of_a_joint_without_marks_leads_back_to_the_joint(phone, job):
    assert photograph(phone, job, joint="pipes").h1.text.startswith("Pipes")


def test_a_photo_that_cannot_be_shown_is_kept_and_said_so(phone, job):
    heic = {"photo_type": "image/heic", "width": "", "height": "", "pixels": ""}
    page = photograph(phone, job, **heic)
    assert "HEIC, 2.1 MB" in page.select_one(".verdict.unsure").text
    assert page.select("main img") == []
    joint = phone.get(f"{job}/joint/{JOINT}")
    assert joint.select("main img") == []
    assert "Kept, not shown" in joint.text
    phone.get(f"{job}/marks/{SHA['before']}")
    assert phone.status == 404


@pytest.mark.parametrize("gravity", ["", "[0.1, 9.79, 0.5]", "[1]", "x", "[1e9, 0, 0]", '["a", 1, 2]', "7"])
def test_which_way_was_down_goes_with_the_photo(phone, job, gravity):
    photograph(phone, job, gravity=gravity)
    wanted = [0.1, 9.79, 0.5] if "9.79" in gravity else None
    assert phone.of_kind("photo")[-1]["gravity"] == wanted


def test_the_next_tap_is_named_and_shown(phone, job):
    photograph(phone, job)
    rim = photos.truth(scene("before")).rim
    preview = f"{job}/marks/{SHA['before']}/preview"
    assert "o'clock" in phone.post(preview, rim="").select_one("#said").text
    page = phone.post(preview, rim=json.dumps(rim[:6]))
    aim = page.select_one("circle.aim")
    away = [math.dist(point, (float(aim["cx"]), float(aim["cy"]))) for point in rim]
    assert away.index(min(away)) in (8, 9)  # the middle of the half that has no tap
    page = phone.post(preview, rim=json.dumps(rim))
    assert "centre housing" in page.select_one("#said").text
    assert "mark" in page.select_one("#said").text
    assert page.select_one("ellipse")


def test_bolts_take_perspective_out_as_the_centre_does(phone, job):
    near = replace(scene("before"), distance_mm=62.0 * 5, tilt_deg=35.0, moving_deg=10.0)
    camera = photos._camera(near, 1)
    holes = [camera.see(1.22, math.radians(near.moving_deg) + 2 * math.pi * n / 8) for n in (0, 1, 3, 4, 6)]
    photograph(phone, job)
    given = taps(near, centre="", holes=json.dumps(holes))
    page = phone.post(f"{job}/marks/{SHA['before']}", **given)
    assert "how many" in page.text or "number of bolts" in page.text
    assert page.select_one("[name=holes]")["value"]
    phone.post(f"{job}/marks/{SHA['before']}", **given, bolts="8")
    marks = phone.of_kind("marks")[-1]
    assert marks["bolts"] == 8
    assert marks["reading"]["perspective"] == "removed"
    assert abs(marks["reading"]["angle"] - photos.truth(near).angle) < 0.3
    bare = taps(near, centre="")
    phone.post(f"{job}/marks/{SHA['before']}", **bare)
    assert phone.of_kind("marks")[-1]["reading"]["perspective"] == "bounded"


def test_the_desk_marks_again_and_both_readings_stay(phone, job):
    mark(phone, job, "before")
    desk = Desk(CONTENT, host="desk", name="Desk")
    desk.texts = list(phone.texts)
    first = phone.of_kind("marks")[-1]["reading"]["angle"]
    moved = photos.truth(scene("before")).moving
    desk.post(
        f"{job}/marks/{SHA['before']}", **taps(scene("before"), moving=json.dumps([moved[0] + 6, moved[1]]))
    )
    assert [record["device"] for record in desk.records if record["kind"] == "marks"] == [
        phone.device["id"],
        desk.device["id"],
    ]
    for page in (desk.get(f"{job}/joint/{JOINT}"), desk.get(f"{job}/summary")):
        assert f"{first:.1f}° ±" in page.text
        assert "by Bay 2 phone" in page.text
        assert f"{desk.of_kind('marks')[-1]['reading']['angle']:.1f}° ±" in page.text


def test_the_report_shows_both_photos_with_marks_angle_uncertainty_and_tolerance(phone, job):
    mark(phone, job, "before")
    mark(phone, job, "after")
    phone.post(f"{job}/joint/{JOINT}/tolerance", degrees="2", source="shop rule", bolts="8", diameter="124")
    report = phone.get(f"{job}/summary").select_one(".joint")
    assert [image["src"] for image in report.select("img")] == [f"/photo/{SHA[moment]}" for moment in SHA]
    assert len(report.select(".shot ellipse.line")) == 2
    assert report.text.count("(95 %)") == 2
    assert "Tolerance ±2.0°" in report.text
    assert "shop rule" in report.text
    assert report.select_one(".verdict.good")
    assert phone.get(f"{job}/summary").text.count("rim, before") == 0  # not once more among the other photos


def test_what_no_photo_measures_is_written_down_before_and_after(phone, job):
    path = f"{job}/joint/actuator-bracket"
    phone.post(f"{path}/written/before", text="")
    assert phone.status == 422
    phone.post(f"{path}/written/before", text="5")
    phone.post(f"{path}/written/before", text="6")
    phone.post(f"{path}/written/after", text="6 and a half")
    page = phone.get(path)
    assert [field["value"] for field in page.select("input[name=text]")] == ["6", "6 and a half"]
    assert "6 and a half" in phone.get(f"{job}/summary").select_one(".joint").text
    phone.post(f"{path}/written/sometime", text="6")
    assert phone.status == 404


def test_comparing_needs_both_photos_and_lines_them_up_when_both_are_marked(phone, job):
    phone.get(f"{job}/joint/{JOINT}/compare")
    assert phone.status == 404
    mark(phone, job, "before")
    photograph(phone, job, "after")
    page = phone.get(f"{job}/joint/{JOINT}/compare")
    assert page.select("image[transform]") == []
    assert "Tap the marks on both photos" in page.text
    mark(phone, job, "after")
    assert len(phone.get(f"{job}/joint/{JOINT}/compare").select("image[transform]")) == 1


def test_the_camera_page_shows_the_photo_from_before_and_works_without_one(phone, job):
    assert phone.get(f"{job}/joint/{JOINT}/camera/after").select(".ghost") == []
    mark(phone, job, "before")
    page = phone.get(f"{job}/joint/{JOINT}/camera/after")
    assert page.select_one("image.ghost")["href"] == f"/photo/{SHA['before']}"
    assert page.select_one(".live ellipse.line")
    assert page.select_one("form.photo input[name=moment]")["value"] == "after"
    assert phone.get(f"{job}/joint/{JOINT}/camera/before").select(".ghost") == []


@pytest.mark.parametrize("job_name", ["electrical", "mechanical"])
def test_the_later_photo_laid_over_shows_the_turn(twin, job_name):
    """Rim and fixed mark fall on those of before; the moving mark lands the known rotation further on."""
    data, truths = {}, {}
    for moment in ("before", "after"):
        truths[moment] = photos.truth(scene(moment, "compressor-housing", job_name))
        truth = truths[moment]
        rim = twin("pwa.engine.clocking.witness").outline(truth.rim)
        data[moment] = {"fixed": truth.fixed, "reading": {"ellipse": rim}}
    a, b, c, d, e, f = twin("pwa.app.joints.overlay").transform(data["before"], data["after"])

    def moved(point):
        return [a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f]

    before, after = truths["before"], truths["after"]
    assert math.dist(moved(after.fixed), before.fixed) < 1.5
    shape = data["before"]["reading"]["ellipse"]
    away = [
        twin("pwa.engine.clocking.ellipse").nearest(shape, moved(point))["distance"] for point in after.rim
    ]
    assert max(away) < 0.1  # two exact ellipses
    turn = twin("pwa.engine.clocking.witness").reading(
        before.rim, before.moving, moved(after.moving), before.centre
    )
    assert turn["angle"] == pytest.approx(after.angle - before.angle, abs=0.6)
