"""Clocks that are off: found on either side of the truth, on both interpreters, and only the wrong ones."""

import json

import pytest

from pwa.app.record import chain

NOW = 1_764_065_263_000  # 2025-11-25
YEAR = 365 * 86_400_000


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.app.when")


def written(device, times, clock=""):
    """Records of a device whose clock showed these times; it had seen `clock` before."""
    state = {"id": device, "name": device, "seq": 0, "head": "", "clock": clock}
    made = []
    for time in times:
        texts, state = chain.seal([chain.draft("job", "note", {"text": "n"})], state, time, device * 20, "")
        made.append({**json.loads(texts[0]), "id": f"{device}{state['seq']}"})
    return made, state["clock"]


def found(both, known, now=NOW):
    return sorted(both.suspects(known, now))


def test_a_clock_years_ahead_is_suspect_and_those_it_drags_along_are_not(both):
    ahead, clock = written("a", [NOW + 10 * YEAR])
    good, _ = written("b", [NOW, NOW + 60_000], clock)
    assert found(both, ahead + good) == ["a1"]
    assert found(both, good) == []


def test_a_clock_years_behind_is_suspect_once_the_phone_has_met_the_shop(both):
    behind, _ = written("a", [NOW - 7 * YEAR], chain.write_clock(NOW - 3_600_000, 0))
    assert found(both, behind) == ["a1"]


def test_a_clock_that_falls_back_between_two_entries_is_suspect(both):
    fell, _ = written("a", [NOW - YEAR, NOW - 5 * YEAR])
    assert found(both, fell) == ["a2"]


def test_a_clock_that_was_set_right_again_is_not(both):
    known, _ = written("a", [NOW + 3 * YEAR, NOW])
    assert found(both, known) == ["a1"]


def test_the_servers_receipt_decides_for_good(both):
    known, _ = written("a", [NOW + 2 * YEAR])
    assert found(both, [{**known[0], "received": NOW}], NOW + 5 * YEAR) == ["a1"]
    assert found(both, [{**known[0], "received": NOW + 2 * YEAR}], NOW + 5 * YEAR) == []


@pytest.mark.parametrize(
    ("skew", "words"),
    [(0, ""), (3_600_000, ""), (86_400_000, "1 day ahead of"), (-3 * 86_400_000, "3 days behind"),
     (10 * YEAR, "10 years ahead of"), (-YEAR, "1 year behind")],
)  # fmt: skip
def test_how_far_off_a_clock_is_in_words(both, skew, words):
    assert both.off(skew) == words


def test_the_timeline_says_which_clock_is_suspect_and_which_entry_is_newer(phone):
    desk = phone
    path = desk.open_job()
    job = path.split("/")[2]
    desk.post(f"{path}/note", text="right")
    desk.now += 10 * YEAR
    desk.post(f"{path}/note", text="wrong")
    desk.now -= 10 * YEAR
    later = {
        **json.loads(desk.texts[-2]),
        "id": "new",
        "device": "another",
        "seq": 1,
        "prev": "",
        "v": 3,
        "kind": "scan",
        "data": {"text": "x", "z": [1]},
    }
    finding = {
        **later,
        "id": "odd",
        "device": "third",
        "v": 2,
        "kind": "finding",
        "data": {"finding": "f", "outcome": "o"},
    }
    desk.texts += [json.dumps({**later, "job": job}), json.dumps({**finding, "job": job})]
    items = [item.get_text(" ", strip=True) for item in desk.get(f"{path}/timeline").select("li[id]")]
    assert [("clock suspect" in item) for item in items if "wrong" in item] == [True]
    assert [("clock suspect" in item) for item in items if "right" in item] == [False]
    newer = [item for item in items if "Written by a newer version; update to see all of it." in item]
    assert len(newer) == 2
    assert not any("Corrected later" in item for item in newer)
