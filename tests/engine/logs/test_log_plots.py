"""Thinning for a picture keeps every spike; command and position meet at common times."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine.logs import pair, plot, reader

TIMES = [0.01 * index for index in range(1000)]


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.engine.logs.plot")


def test_a_spike_of_one_sample_survives(both):
    values = [0.0] * 1000
    values[637] = 50.0
    values[638] = -9.0
    points = both.thin(TIMES, values, 50)
    assert [TIMES[637], 50.0] in points
    assert [TIMES[638], -9.0] in points
    assert len(points) <= 100


def test_few_points_stay_as_they_are(both):
    assert both.thin([0, 1, 2], [5, 6, 7], 100) == [[0, 5], [1, 6], [2, 7]]
    assert both.thin([], [], 100) == []


def test_a_part_keeps_the_neighbours_outside(both):
    points = both.thin([0, 1, 2, 3, 4], [0, 1, 2, 3, 4], 10, 1.5, 2.5)
    assert points == [[1, 1], [2, 2], [3, 3]]


@pytest.mark.parametrize(
    ("columns", "start", "end", "says"), [(0, None, None, "one column"), (9, 2, 1, "before")]
)
def test_a_picture_that_cannot_be_is_refused(both, columns, start, end, says):
    with pytest.raises(ValueError, match=says):
        both.thin([0, 1], [0, 1], columns, start, end)


@given(
    st.lists(st.tuples(st.floats(0, 2), st.floats(-1e6, 1e6)), min_size=1, max_size=300),
    st.integers(1, 20),
    st.floats(0, 1),
    st.floats(0, 1),
)
def test_the_extremes_of_any_part_survive(steps, columns, a, b):
    times, values, now = [], [], 0.0
    for gap, value in steps:
        now += gap
        times.append(now)
        values.append(value)
    start, end = sorted((a * now, b * now))
    points = plot.thin(times, values, columns, start, end)
    inside = [value for time, value in zip(times, values, strict=True) if start <= time <= end]
    shown = [value for time, value in points]
    assert [time for time, _ in points] == sorted(time for time, _ in points)
    assert len(points) <= 2 * columns + 2
    assert all(
        [time, value] in [[t, v] for t, v in zip(times, values, strict=True)] for time, value in points
    )
    if inside:
        assert min(shown) <= min(inside)
        assert max(shown) >= max(inside)


def read(text):
    made = reader.Reader()
    made.feed(text)
    made.finish()
    return made


def test_the_command_is_the_latest_sent_before_the_position():
    lines = [
        (1.0, "18FDD500#FFFFFFFFFFFFFF00"),  # no command yet
        (2.0, "10FDA300#FFFF7DFFFFFFFFFF"),
        (2.5, "18FDD500#FFFFFFFFFFFFFF32"),
        (3.0, "10FDA300#FFFFFAFFFFFFFFFF"),
        (3.0, "18FDD500#FFFFFFFFFFFFFF4B"),
        (5.5, "18FDD500#FFFFFFFFFFFFFF4B"),  # the command is too old
    ]
    log = read("".join(f"({time:.6f}) can0 {frame}\n" for time, frame in lines))
    found = pair.samples(log)
    assert found == [[1.5, 50.0, 20.0], [2.0, 100.0, pytest.approx(30)]]
    assert pair.samples(log, start=1.8) == found[1:]
    assert pair.samples(log, end=1.8) == found[:1]
    with pytest.raises(ValueError, match="no moment"):
        pair.samples(log, start=1.6, end=1.8)


def test_a_log_without_one_of_the_two_says_so():
    log = read("(1.0) can0 10FDA300#FFFF7DFFFFFFFFFF\n")
    with pytest.raises(ValueError, match="no signal vgt-position"):
        pair.samples(log)


def test_a_log_without_times_is_no_sweep():
    log = read("VGT command (%),VGT position (%)\n0,0\n50,50\n100,100\n")
    with pytest.raises(ValueError, match="no times"):
        pair.samples(log)


def test_what_the_sender_calls_an_error_is_said_beside_a_verdict():
    made = reader.Reader()
    made.feed("(1.0) can0 10FDA300#FFFF7DFFFFFFFFFF\n(2.0) can0 18FDD500#FFFFFFFFFFFFFFFE\nx\n")
    said = pair.doubts(made.finish())
    assert "VGT position: the sender reports it in error 1 times" in said[0]
    assert "VGT position: the scale is from memory" in said[1]
    assert said[2].startswith("1 line of")
    assert len(said) == 3
