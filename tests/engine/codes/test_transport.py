"""Long messages joined from frames, and what is said of those that never were whole."""

import pytest

ALL = {"priority": 6, "pgn": 0xEC00, "source": 0, "destination": 255}
PART = ALL | {"pgn": 0xEB00}
PAYLOAD = [0x14, 0xFF, 0x81, 0x02, 0x07, 0x02, 0x66, 0x00, 0x10, 0x01]
BAM = [ALL, [0x20, 10, 0, 2, 0xFF, 0xCA, 0xFE, 0]]
FIRST, SECOND = [PART, [1, *PAYLOAD[:7]]], [PART, [2, *PAYLOAD[7:], 255, 255, 255, 255]]
WHOLE = {"pgn": 65226, "source": 0, "destination": 255, "payload": PAYLOAD}


@pytest.fixture(scope="module")
def transport(twin):
    return twin("pwa.engine.codes.transport")


def test_an_announced_message_is_joined_and_its_filling_left_out(transport):
    assert transport.join([BAM, FIRST, SECOND]) == {"messages": [WHOLE], "problems": []}


def test_a_short_message_passes_as_it_is(transport):
    short = {"priority": 6, "pgn": 65226, "source": 3, "destination": 255}
    payload = [4, 255, 129, 2, 7, 2, 255, 255]
    message = {"pgn": 65226, "source": 3, "destination": 255, "payload": payload}
    assert transport.join([[short, payload]])["messages"] == [message]


def test_two_senders_at_once_are_kept_apart(transport):
    other = [[frame | {"source": 1}, data] for frame, data in (BAM, FIRST, SECOND)]
    frames = [BAM, other[0], FIRST, other[1], other[2], SECOND]
    assert [message["source"] for message in transport.join(frames)["messages"]] == [1, 0]


def test_a_message_to_one_node_is_joined_too(transport):
    to_tool = {"destination": 249}
    begin = [ALL | to_tool, [0x10, 10, 0, 2, 255, 0xCB, 0xFE, 0]]
    clear = [ALL | {"source": 249, "destination": 0}, [0x11, 2, 1, 255, 255, 0xCB, 0xFE, 0]]
    ended = [ALL | {"source": 249, "destination": 0}, [0x13, 10, 0, 2, 255, 0xCB, 0xFE, 0]]
    parts = [[frame | to_tool, data] for frame, data in (FIRST, FIRST, SECOND)]  # one is sent again
    found = transport.join([begin, clear, *parts, ended])
    assert [(message["pgn"], message["payload"]) for message in found["messages"]] == [(65227, PAYLOAD)]
    assert found["problems"] == []


@pytest.mark.parametrize(
    ("frames", "says"),
    [
        ([BAM, FIRST], "1 of 2 frames: frames are missing"),
        ([BAM, SECOND], "1 of 2 frames: frames are missing"),
        ([BAM, FIRST, BAM, FIRST, SECOND], "1 of 2 frames: the next one began"),
        ([BAM, FIRST, [ALL, [255, 1, 255, 255, 255, 0xCA, 0xFE, 0]]], "it was broken off"),
        ([SECOND], "without its beginning"),
        ([BAM, [PART, [3, 0, 0, 0, 0, 0, 0, 0]]], "a number that is none"),
        ([BAM, [PART, [0]]], "a number that is none"),
        ([BAM, [PART, []]], "a number that is none"),
        ([BAM, FIRST, [PART, [2, 0]]], "is cut"),
        ([[ALL, [0x20, 10, 0, 3, 255, 0xCA, 0xFE, 0]]], "contradicts itself"),
        ([[ALL, [0x20, 8, 0, 2, 255, 0xCA, 0xFE, 0]]], "contradicts itself"),
        ([[ALL, [0x20, 250, 7, 255, 255, 0xCA, 0xFE, 0]]], "contradicts itself"),
        ([[ALL, [0x20, 10]]], "has not its 8 bytes"),
    ],
)
def test_what_is_not_whole_is_said_and_never_guessed(transport, frames, says):
    found = transport.join(frames)
    assert says in " ".join(found["problems"])
    assert len(found["messages"]) == (1 if frames[-1] == SECOND and FIRST in frames else 0)


def test_the_same_problem_of_many_frames_is_said_once(transport):
    assert len(transport.join([SECOND] * 50)["problems"]) == 1


@pytest.mark.parametrize("data", [[0] * 9, [256], [-1]])
def test_what_is_no_frame_is_refused(transport, data):
    with pytest.raises(ValueError, match="up to 8 bytes"):
        transport.join([[ALL, data]])
