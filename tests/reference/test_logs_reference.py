"""Frame logs against python-can 4.6.1: what its writers write and its readers read is what ours must read.

Long messages and codes against can-j1939 2.0.12 are in the worked examples of test_codes_reference.py; here
the frames alone are compared. python-can is LGPL and an oracle for tests only.
"""

import random
from pathlib import Path

import can
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pwa.engine.logs import candump, sniff, text_frames
from pwa.engine.logs import reader as module

FRAMES = st.lists(
    st.tuples(
        st.floats(0, 5).map(lambda gap: round(gap, 6)),
        st.booleans(),
        st.integers(0, 2**29 - 1),
        st.binary(max_size=8),
        st.sampled_from(["data", "data", "data", "remote"]),
    ),
    min_size=1,
    max_size=30,
)


def messages(frames):
    now, made = 1_700_000_000.0, []
    for gap, wide, identifier, data, kind in frames:
        now = round(now + gap, 6)
        remote = kind == "remote"
        made.append(
            can.Message(
                timestamp=now,
                arbitration_id=identifier if wide else identifier & 0x7FF,
                is_extended_id=wide,
                is_remote_frame=remote,
                data=None if remote else data,
                dlc=len(data),
                channel="can0",
            )
        )
    return made


def written(writer, suffix, made, tmp):
    path = tmp / f"log{suffix}"
    with writer(str(path)) as log:
        for message in made:
            log.on_message_received(message)
    return path


def ours(lines, parse):
    found = []
    for line in lines:
        frame = parse(line) if line.strip() else None
        if frame is not None:
            time, identifier, wide, data = frame
            found.append((time, int(identifier, 16), wide, data))
    return found


def theirs(reader, path):
    return [
        (
            message.timestamp,
            message.arbitration_id,
            message.is_extended_id,
            None if message.is_remote_frame else bytes(message.data),
        )
        for message in reader(str(path))
    ]


@pytest.mark.parametrize(
    ("writer", "reader", "suffix", "form"),
    [
        (can.io.CanutilsLogWriter, can.io.CanutilsLogReader, ".log", "candump"),
        (can.io.ASCWriter, can.io.ASCReader, ".asc", "asc"),
        (can.io.CSVWriter, can.io.CSVReader, ".csv", "can csv"),
    ],
)
@settings(max_examples=60, deadline=None)
@given(frames=FRAMES)
def test_frames_are_those_that_python_can_reads(writer, reader, suffix, form, frames, tmp_path_factory):
    path = written(writer, suffix, messages(frames), tmp_path_factory.mktemp("logs"))
    lines = path.read_bytes().splitlines()
    parse = {
        "candump": candump.file_frame,
        "asc": text_frames.Asc().frame,
        "can csv": text_frames.csv_frame,
    }[form]
    found, known = ours(lines, parse), theirs(reader, path)
    assert [frame[1:] for frame in found] == [frame[1:] for frame in known]
    assert [frame[0] for frame in found] == pytest.approx([frame[0] for frame in known], abs=2e-6)
    assert sniff.form(lines[: sniff.ENOUGH]) == form


@pytest.mark.parametrize(("base", "stamps"), [("hex", "relative"), ("dec", "absolute"), ("dec", "relative")])
def test_asc_in_other_bases_and_with_running_times(base, stamps, tmp_path):
    lines = [
        "date Wed Nov 25 10:00:00 2026",
        f"base {base}  timestamps {stamps}",
        "internal events logged",
        "// a comment",
        "Begin Triggerblock",
        "   0.000000 Start of measurement",
    ]
    chance = random.Random(7)
    for _ in range(50):
        identifier, data = chance.getrandbits(29), chance.randbytes(chance.randrange(9))
        shown = f"{identifier:X}x" if base == "hex" else f"{identifier}x"
        values = " ".join(f"{value:02X}" if base == "hex" else str(value) for value in data)
        lines.append(f"   0.001000 1  {shown}       Rx   d {len(data)} {values}")
    lines.append("End TriggerBlock")
    path = tmp_path / "log.asc"
    path.write_text("\n".join(lines) + "\n")
    parse = text_frames.Asc().frame
    found = ours(path.read_bytes().splitlines(), parse)
    known = [
        (message.timestamp, message.arbitration_id, message.is_extended_id, bytes(message.data))
        for message in can.io.ASCReader(str(path), base=base, relative_timestamp=True)
    ]
    assert [frame[1:] for frame in found] == [frame[1:] for frame in known]
    assert found[-1][0] == pytest.approx(0.05 if stamps == "relative" else 0.001)


@pytest.mark.parametrize("fd", [False, True])
def test_flexible_frames_have_all_their_bytes(fd, tmp_path):
    made = can.Message(
        timestamp=1.5, arbitration_id=0x18FEF600, is_fd=fd, data=bytes(range(64 if fd else 8)), channel="can0"
    )
    for writer, suffix, parse in (
        (can.io.CanutilsLogWriter, ".log", candump.file_frame),
        (can.io.ASCWriter, ".asc", text_frames.Asc().frame),
    ):
        path = written(writer, suffix, [made], tmp_path)
        found = ours(path.read_bytes().splitlines(), parse)
        assert [frame[1:] for frame in found] == [(0x18FEF600, True, bytes(made.data))]


def test_the_same_frames_give_the_same_signals_in_every_form(tmp_path):
    chance = random.Random(11)
    made = [
        can.Message(
            timestamp=1_700_000_000 + index / 100,
            arbitration_id=chance.choice([0x0CF00400, 0x10FDA300, 0x18FEF600, 0x18FECA00]),
            data=bytes(chance.randrange(256) for _ in range(8)),
            channel="can0",
        )
        for index in range(300)
    ]
    logs = []
    for writer, suffix in (
        (can.io.CanutilsLogWriter, ".log"),
        (can.io.ASCWriter, ".asc"),
        (can.io.CSVWriter, ".csv"),
    ):
        path: Path = written(writer, suffix, made, tmp_path)
        log = module.read([path.read_bytes()])
        assert log["damaged"]["count"] == 0
        logs.append((log["rows"], log["signals"], [code["key"] for code in log["codes"]], log["messages"]))
    assert logs[0] == logs[1] == logs[2]
    assert logs[0][0] == 300


def test_error_frames_are_no_damage(tmp_path):
    made = [
        can.Message(timestamp=1.0, is_error_frame=True, channel="can0"),
        *messages([(0, True, 5, b"", "data")]),
    ]
    for writer, suffix in (
        (can.io.ASCWriter, ".asc"),
        (can.io.CSVWriter, ".csv"),
        (can.io.CanutilsLogWriter, ".log"),
    ):
        log = module.read([written(writer, suffix, made, tmp_path).read_bytes()])
        assert (log["rows"], log["damaged"]["count"]) == (2, 0)
