"""`layby clocking`: a photo, before and after, a lever's stops, a drain. A simulated camera's taps."""

import json

import pytest

from server import cli
from tests.helpers.pinhole import centre, project, rim

VIEW = (8.0, 30.0, 20.0)


def photo(angle, **more):
    return {"rim": rim(*VIEW), "fixed": project(10, *VIEW), "moving": project(10 + angle, *VIEW), **more}


def middle():
    return {"centre": centre(*VIEW)}


@pytest.fixture
def asked(tmp_path, capsys):
    def ask(taps, *options):
        path = tmp_path / "taps.json"
        path.write_text(taps if isinstance(taps, str) else json.dumps(taps), "utf-8")
        code = cli.main(["clocking", str(path), *options])
        out, err = capsys.readouterr()
        return code, json.loads(out) if "--json" in options and code == 0 else out + err

    return ask


def test_one_photo(asked):
    code, found = asked(photo(40, **middle()), "--json")
    assert code == 0
    assert found["reading"]["angle"] == pytest.approx(40)
    assert found["guide"]["enough"]
    _, said = asked(photo(40))
    assert "Perspective may be up to" in said
    assert "tap the true centre" in said


def test_a_known_distance_bounds_perspective_closer(asked):
    _, far = asked(photo(40, distance=1500, diameter=120), "--json")
    _, unknown = asked(photo(40), "--json")
    assert far["reading"]["limit"] < 0.2 * unknown["reading"]["limit"]


def test_before_and_after_with_several_photos(asked):
    taps = {
        "before": [photo(40, **middle()), photo(40, **middle())],
        "after": photo(43, **middle()),
        "tolerance": 1,
        "diameter": 120,
    }
    code, found = asked(taps, "--json")
    assert code == 0
    assert found["before"]["agree"]
    assert found["rotation"]["verdict"] == "out"
    assert found["rotation"]["along"] == pytest.approx(0.00314, abs=1e-5)
    assert "3.1 mm along" in asked(taps)[1]


def test_bolt_holes_and_whole_steps(asked):
    holes = [project(7 + 45 * n, *VIEW, radius=0.8) for n in range(8)]
    taps = {
        "before": photo(40, holes=holes, count=8),
        "after": photo(85.2, holes=holes, count=8),
        "tolerance": 2,
        "fixing": "bolts",
        "bolts": 8,
    }
    assert "Turned by 1 hole of 8, 45° clockwise: out" in asked(taps)[1]


def test_a_pattern_instead_of_a_rim(asked):
    corners = [[-1.2, -0.8], [1.2, -0.8], [1.2, 0.8], [-1.2, 0.8]]
    taps = {
        "pattern": [{"at": at, "tap": _seen(at)} for at in corners],
        "axis": [0, 0],
        "fixed": project(10, *VIEW),
        "moving": project(50, *VIEW),
    }
    _, found = asked(taps, "--json")
    assert found["reading"]["angle"] == pytest.approx(40)


def test_a_lever_between_its_stops(asked):
    stops = [photo(20, **middle()), photo(75, **middle())]
    _, said = asked({"stops": stops, "least": 50, "most": 60, "length": 40})
    assert "The lever went 55.0°" in said
    assert "within 50° to 60°" in said


def test_a_drain_against_gravity(asked):
    taps = {"rim": rim(60, 0.0), "centre": centre(60, 0.0)}
    taps["drain"] = {"start": [640, 480], "end": [640, 700], "acceleration": [0, 9.81, 0], "tolerance": 35}
    _, said = asked(taps)
    assert "within 35°" in said


@pytest.mark.parametrize(
    ("taps", "words"),
    [
        ("{", "is not JSON"),
        ("[1]", "must be a table"),
        (photo(40, rim="round"), "“rim” is a list of points"),
        (photo(40, moving=[1]), "“moving” is a list of 2 numbers"),
        ({"before": photo(40), "after": photo(40, fixed=None), "tolerance": 1}, "after, photo 1: “fixed”"),
        ({"before": photo(40), "after": photo(40)}, "tolerance must be more than 0"),
        ({"before": photo(40), "after": photo(40), "tolerance": 1, "fixing": "glue"}, "is one of"),
        ({"stops": [photo(40)]}, "two photos"),
    ],
)
def test_what_is_wrong_is_said(asked, taps, words):
    code, said = asked(taps)
    assert code == 2
    assert words in said


def test_a_file_that_is_not_there(capsys):
    assert cli.main(["clocking", "nowhere.json"]) == 2
    assert "nowhere.json" in capsys.readouterr().err


def _seen(at):
    from math import atan2, degrees, hypot

    return project(degrees(atan2(at[1], at[0])), *VIEW, radius=hypot(*at))
