"""Logs read in pieces: frames and tables, sound and damaged, on both interpreters. All data is generated."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pwa.engine.logs import reader as module
from pwa.engine.logs import roles as roles_module

FILE = "(10.{0:06d}) can0 {1}#{2}\n"
NOTHING = "FFFFFFFFFFFFFFFF"


@pytest.fixture(scope="module")
def reader(twin):
    return twin("pwa.engine.logs.reader")


def file_log(*frames):
    """A candump file of (identifier, bytes in hex), one a millisecond from 10 s on."""
    return "".join(FILE.format(1000 * index, *frame) for index, frame in enumerate(frames))


def console_log(*frames):
    lines = []
    for identifier, data in frames:
        spaced = " ".join(data[at : at + 2] for at in range(0, len(data), 2))
        lines.append(f"  can0  {identifier}   [{len(data) // 2}]  {spaced}\n")
    return "".join(lines)


def signal(log, key):
    return next(item for item in log["signals"] if item["key"] == key)


# Raw values by hand: 0x1900 · 0.125 = 800 rpm; 0x7D · 0.4 = 50 %; 0xFA · 0.4 = 100 %; 0x28 · 2 = 80 kPa;
# 0x55 − 40 = 45 °C; 0x4E20 · 0.0025 = 50 %.
BUS = [
    ("0CF00400", "FFFFFF0019FFFFFF"),
    ("10FDA300", "FFFF7DFFFFFFFFFF"),
    ("18FDD500", "FFFFFFFFFFFFFFFA"),
    ("18FEF600", "FF2855FFFFFFFFFF"),
    ("18FD9400", "204EFFFFFFFFFFFF"),
]


@pytest.mark.parametrize(
    ("key", "value", "unit"),
    [
        ("engine-speed", 800, "rpm"),
        ("vgt-command", 50, "%"),
        ("vgt-position", 100, "%"),
        ("boost", 80, "kPa"),
        ("intake-temperature", 45, "°C"),
        ("egr-position", 50, "%"),
    ],
)
@pytest.mark.parametrize("write", [file_log, console_log])
def test_parameters_come_out_in_their_units(reader, write, key, value, unit):
    found = signal(reader.read([write(*BUS)]), key)
    assert (found["first"], found["last"], found["unit"]) == (
        pytest.approx(value),
        pytest.approx(value),
        unit,
    )
    assert found["count"] == 1


def test_each_parameter_says_where_it_comes_from_and_how_sure_its_scale_is(reader):
    log = reader.read([file_log(*BUS)])
    assert signal(log, "vgt-command")["source"] == (
        "SPN 641 in PGN 64931, byte 3, 0.4 % a bit; sent by address 0"
    )
    assert signal(log, "vgt-command")["standing"] == "public lists agree"
    assert signal(log, "boost")["standing"].startswith("from memory")


def test_error_and_not_available_are_no_values(reader):
    frames = [("10FDA300", f"FFFF{raw}FFFFFFFFFF") for raw in ("00", "FA", "FB", "FE", "FF")]
    found = signal(reader.read([file_log(*frames)]), "vgt-command")
    assert (found["count"], found["least"], found["most"]) == (2, 0, pytest.approx(100))
    assert (found["errors"], found["missing"]) == (1, 2)


def test_two_senders_of_one_parameter_stay_apart(reader):
    log = reader.read([file_log(("10FDA300", "FFFF00FFFFFFFFFF"), ("10FDA321", "FFFFFAFFFFFFFFFF"))])
    assert [item["key"] for item in log["signals"]] == ["vgt-command", "vgt-command@33"]


def test_one_sender_with_two_priorities_is_one_signal(reader):
    log = reader.read([file_log(("10FDA300", "FFFF00FFFFFFFFFF"), ("18FDA300", "FFFFFAFFFFFFFFFF"))])
    assert [(item["key"], item["count"]) for item in log["signals"]] == [("vgt-command", 2)]
    assert log["messages"] == [{"pgn": 64931, "sender": 0, "count": 2}]


LONG = [
    ("1CECFF00", "200A0002FFCAFE00"),
    ("1CEBFF00", "0114FF8102070266"),
    ("1CEBFF00", "02001001FFFFFFFF"),
]


def test_codes_of_one_frame_and_of_several_are_found(reader):
    # Messages of one and of several frames: the worked examples of the reader's oracle, can-j1939.
    log = reader.read([file_log(("18FECA03", "04FF66000305FFFF"), *LONG, *LONG)])
    found = [(code["key"], code["occurrences"], code["sender"], code["messages"]) for code in log["codes"]]
    assert found == [("102/16", 1, 0, 2), ("641/7", 2, 0, 2), ("102/3", 5, 3, 1)]
    assert log["codes"][0]["lamps"] == ["stop", "warning"]
    assert (log["codes"][1]["first"], log["codes"][1]["last"]) == (pytest.approx(0.003), pytest.approx(0.006))


def test_codes_of_before_are_told_apart(reader):
    log = reader.read([file_log(("18FECB00", "00FF66000305FFFF"), ("18FECA00", "04FF81020702FFFF"))])
    assert [(code["key"], code["active"]) for code in log["codes"]] == [("641/7", True), ("102/3", False)]


@pytest.mark.parametrize("left", [1, 2])
def test_a_long_message_that_lacks_a_part_is_counted_and_left_out(reader, left):
    frames = [frame for index, frame in enumerate(LONG) if index != left] + LONG
    log = reader.read([file_log(*frames)])
    assert [code["messages"] for code in log["codes"]] == [1, 1]
    assert any(
        "1 long messages are incomplete. The first: The message 65226 from address 0" in warning
        for warning in log["warnings"]
    )


def test_a_message_to_one_receiver_is_put_together_too(reader):
    frames = [("1CEC2100", "100A000202CAFE00"), ("1CECFF00", "200A0002FFCAFE00")]
    frames += [
        ("1CEB2100", LONG[1][1]),
        ("1CEBFF00", LONG[1][1]),
        ("1CEB2100", LONG[2][1]),
        ("1CEBFF00", LONG[2][1]),
    ]
    assert [code["messages"] for code in reader.read([file_log(*frames)])["codes"]] == [2, 2]


def test_damaged_lines_are_counted_and_the_first_named(reader):
    lines = file_log(*BUS).splitlines()
    lines[1:1] = ["(10.5) can0 18FEF600#FF2", "", "disk full", "(10.x) can0 18FEF600#" + NOTHING]
    log = reader.read(["\n".join(lines)])
    assert log["rows"] == len(BUS)
    assert log["damaged"]["count"] == 3
    assert [line["line"] for line in log["damaged"]["first"]] == [2, 4, 5]
    assert log["damaged"]["first"][1]["text"] == "disk full"
    assert "hex" in log["damaged"]["first"][0]["why"]


def test_other_frames_are_counted_not_read(reader):
    odd = "(10.1) can0 123#1122\n(10.2) can0 18FEF600#R\n(10.3) can0 18FEF600#FF\n"
    log = reader.read([file_log(*BUS) + odd])
    assert log["damaged"]["count"] == 0
    said = " ".join(log["warnings"])
    assert "1 frames have 11-bit" in said
    assert "1 frames are errors or requests" in said
    assert "1 frames are too short" in said


def test_a_console_log_without_times_counts_its_frames(reader):
    log = reader.read([console_log(*BUS)])
    assert (log["form"], log["time_unit"], log["duration"]) == ("candump console", "rows", 4)
    assert any("no times" in warning for warning in log["warnings"])


@pytest.mark.parametrize("stamp", ["(000.{0:06d})", "(2026-11-25 10:00:0{0:07.4f})"])
def test_a_console_log_with_times_uses_them(reader, stamp):
    lines = console_log(*BUS).splitlines(keepends=True)
    stamps = [stamp.format(index * (1000 if "d}" in stamp else 0.001)) for index in range(len(lines))]
    stamps = [text.replace(":00000", ":00").replace("00:000", "00:00") for text in stamps]
    log = reader.read([" " + mark + line for mark, line in zip(stamps, lines, strict=True)])
    assert log["time_unit"] == "s"
    assert log["duration"] == pytest.approx(0.004)


ROWS = [(0.0, 700, 1.5, 20), (0.1, 900, 2.5, 40), (0.2, 1100, 3.5, 60), (0.3, 1300, 4.5, 80)]
NAMES = ("Time (s)", "Engine speed (rpm)", "VGT position [%]", "VGT command [%]")


def table(delimiter=",", comma=False, head=NAMES, before=(), rows=ROWS, end="\n"):
    lines = [*before, delimiter.join(head)] if head else list(before)
    for row in rows:
        cells = [str(cell).replace(".", ",") if comma else str(cell) for cell in row]
        lines.append(delimiter.join(cells))
    return end.join(lines) + end


@pytest.mark.parametrize(
    "text",
    [
        table(),
        table("\t"),
        table(";"),
        table("|"),
        table(", "),
        table(";", comma=True),
        table("\t", comma=True),
        table(";", end="\r\n"),
        table(";", end="\r"),
        table(before=["Recorded on a test drive", "Unit: invented", ""]),
        table(";", comma=True, head=("Zeit [s]", "Motordrehzahl [1/min]", "VTG Ist [%]", "VTG Soll [%]")),
        table(head=("time_s", "engineSpeed_rpm", "vgtPosition_%", "vgtCommand_%")),
        table(" ", head=("time", "rpm", "vgt_pos", "vgt_cmd")),
        table(head=("Time", "RPM", "Vane actual", "Vane desired\ns,rpm,%,%")),
        table().replace("0.0,700", '"0.0","700"'),
        "\ufeff" + table(),
    ],
)  # fmt: skip
def test_a_table_is_read_however_it_is_written(reader, text):
    log = reader.read([text])
    assert log["form"] == "table"
    assert (log["rows"], log["damaged"]["count"]) == (4, 0)
    assert log["duration"] == pytest.approx(0.3)
    assert {item["key"] for item in log["signals"]} == {"engine-speed", "vgt-position", "vgt-command"}
    assert (signal(log, "engine-speed")["least"], signal(log, "engine-speed")["most"]) == (700, 1300)
    assert signal(log, "vgt-position")["last"] == pytest.approx(4.5)
    assert signal(log, "vgt-command")["first"] == 20


def test_utf16_is_read(twin):
    text = table()
    assert module.read([text.encode("utf-16")]) == module.read([text])
    assert module.read([text.encode("latin-1")]) == module.read([text])


@pytest.mark.parametrize(
    ("cells", "scale"),
    [
        ([f"12:00:0{index}.500" for index in range(4)], 1),
        ([f"2026-11-25 12:00:0{index}" for index in range(4)], 1),
        ([f"2026-11-25T12:00:0{index}.25Z" for index in range(4)], 1),
        (["23:59:58", "23:59:59", "00:00:00", "00:00:01"], 1),
        ([f"0:0{index}.0" for index in range(4)], 1),
        (["11:59:59 AM", "12:00:00 PM", "12:00:01 PM", "12:00:02 pm"], 1),
        ([f"11/25/2026 1:00:0{index} PM" for index in range(4)], 1),
        ([f"2026-11-25T12:00:0{index}+01:00" for index in range(4)], 1),
        ([f"2026-11-25 12:00:0{index}.5-05:00" for index in range(4)], 1),
        ([f"2026-11-25 12:0{index}" for index in range(4)], 60),
    ],
)
def test_clocks_are_times(reader, cells, scale):
    rows = [(cell, *row[1:]) for cell, row in zip(cells, ROWS, strict=True)]
    log = reader.read([table(head=("Timestamp", *NAMES[1:]), rows=rows)])
    assert log["duration"] == pytest.approx(3 * scale)
    assert log["warnings"] == []


@pytest.mark.parametrize(
    ("name", "duration", "warned"),
    [("Time (ms)", 0.0003, False), ("time_ms", 0.0003, False), ("t", 0.3, True)],
)
def test_the_time_has_its_unit_or_a_warning(reader, name, duration, warned):
    log = reader.read([table(head=(name, *NAMES[1:]))])
    assert log["duration"] == pytest.approx(duration)
    assert any("seconds are assumed" in warning for warning in log["warnings"]) == warned


def test_a_person_may_say_the_unit_of_the_time(reader):
    log = reader.read([table(head=("t", *NAMES[1:]))], {"time-unit": "ms"})
    assert (log["duration"], log["warnings"]) == (pytest.approx(0.0003), [])
    with pytest.raises(ValueError, match="not in days"):
        reader.read([table()], {"time-unit": "days"})


def test_without_a_time_rows_are_counted(reader):
    log = reader.read([table(head=("a", "b", "c", "d"))])
    assert (log["time_unit"], log["duration"]) == ("rows", 3)
    assert [item["key"] for item in log["signals"]] == ["a", "b", "c", "d"]


def test_a_person_may_say_what_the_columns_are(reader):
    text = table(head=("a", "b", "c", "d"))
    log = reader.read([text], {"time": "a", "vgt-command": 4, "vgt-position": "c"})
    roles = [column["role"] for column in log["columns"]]
    assert roles == ["time", "", "vgt-position", "vgt-command"]
    assert log["duration"] == pytest.approx(0.3)
    log = reader.read([table()], {"engine-speed": ""})
    assert [column["role"] for column in log["columns"]] == ["time", "", "vgt-position", "vgt-command"]


@pytest.mark.parametrize(
    ("mapping", "says"),
    [({"time": "z"}, "no column “z”"), ({"time": 9}, "no column “9”"), ({"x": "a"}, "no signal x")],
)
def test_a_mapping_to_nothing_is_refused(reader, mapping, says):
    with pytest.raises(ValueError, match=says):
        reader.read([table(head=("a", "b", "c", "d"))], mapping)


def test_damaged_rows_and_empty_cells_are_told_apart(reader):
    text = table() + "0.4,1500\n0.5,,5.5,90\n0.6,n/a,NaN,95\n0.7,17#0,6.5,97\n,1,2,3\n\n0.8,1800,7.5,98,\n"
    log = reader.read([text])
    assert log["rows"] == 7
    assert signal(log, "engine-speed")["missing"] == 2
    assert signal(log, "vgt-position")["missing"] == 1
    assert signal(log, "vgt-command")["last"] == 98
    named = [(line["line"], line["why"]) for line in log["damaged"]["first"]]
    assert named == [
        (6, "It has 2 cells instead of 4."),
        (9, "“Engine speed (rpm)” is no number."),
        (10, "The time is missing."),
    ]


def test_times_that_jump_back_are_said(reader):
    log = reader.read([table() + table(head=())])
    assert any("Times jump back 1 times" in warning for warning in log["warnings"])


def test_a_wide_table_reads_what_has_a_role_and_names_the_rest(reader):
    names = [f"channel {chr(97 + index)}" for index in range(20)]
    rows = [[index] * 20 + row_end for index, row_end in enumerate([[0.0, 1], [0.1, 2], [0.2, 3]])]
    log = reader.read([table(head=(*names, "time s", "vgt cmd"), rows=rows)])
    assert len(log["signals"]) == 12
    assert signal(log, "vgt-command")["count"] == 3
    assert "channel s" in log["warnings"][-1]


@pytest.mark.parametrize("text", ["", "\n\n", "hello\nworld\n", "a,b\nc,d\n", "%PDF-1.4\n\x00\x01"])
def test_what_is_no_log_is_refused(reader, text):
    with pytest.raises(ValueError, match="No rows of numbers"):
        reader.read([text])


def test_an_endless_line_is_damage_and_not_kept():
    text = file_log(*BUS) + "x" * 100_000 + "\n" + file_log(*BUS)
    log = module.read([text[at : at + 1000] for at in range(0, len(text), 1000)])
    assert (log["rows"], log["damaged"]["count"]) == (2 * len(BUS), 1)
    assert log == module.read([text])


LINES = st.sampled_from(
    [
        *(file_log(*BUS, *LONG) + console_log(*BUS) + table()).splitlines(), "", "°,;\t", "(", "1;2;3", "\r",
        "[8]", "can0 1 [x]", "(1) can0 18FEF600#" + NOTHING, "5.0,1,2,3", '5.1,"1",2,3', "a" * 20_000,
    ]
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    lines=st.lists(LINES, max_size=90),
    start=st.sampled_from([file_log(*BUS), table(), console_log(*BUS) * 3]),
    end=st.sampled_from(["\n", "\r\n"]),
    encoding=st.sampled_from(["utf-8", "utf-16"]),
    cuts=st.lists(st.floats(0, 1), max_size=12),
)
def test_where_a_log_is_cut_changes_nothing(lines, start, end, encoding, cuts):
    data = (start + end.join(lines)).encode(encoding)
    places = [0, *sorted(int(cut * len(data)) for cut in cuts), len(data)]
    whole = module.read([data])
    assert module.read([data[a:b] for a, b in itertools.pairwise(places)]) == whole
    assert sum(item["count"] for item in whole["messages"]) <= whole["rows"]


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 3), st.lists(LINES, max_size=5))
def test_tiny_pieces_give_the_same(size, lines):
    data = (file_log(*BUS) + "\r\n".join(lines)).encode("utf-8")
    assert module.read([data[at : at + size] for at in range(0, len(data), size)]) == module.read([data])


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=400), st.integers(0, 400))
def test_any_bytes_are_read_or_refused_with_a_sentence(data, cut):
    try:
        whole = module.read([data])
    except ValueError as error:
        assert str(error).endswith((".", "?"))
        with pytest.raises(ValueError) as caught:
            module.read([data[:cut], data[cut:]])
        assert str(caught.value) == str(error)
    else:
        assert module.read([data[:cut], data[cut:]]) == whole


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("Time", "time"),
        ("ENGINE_RPM", "engine-speed"),
        ("Engine Speed (rpm)", "engine-speed"),
        ("Vehicle speed", ""),
        ("Turbo Speed", "turbo-speed"),
        ("Boost Pressure (kPa)", "boost"),
        ("Desired Boost", ""),
        ("MAP", "boost"),
        ("VGT Actuator Position Commanded", "vgt-command"),
        ("VGTActuatorPosition", "vgt-position"),
        ("EGR valve position actual", "egr-position"),
        ("EGR duty", "egr-command"),
        ("EGR temperature", ""),
        ("Intake Manifold Temp", "intake-temperature"),
        ("Exhaust gas temperature", "exhaust-temperature"),
        ("Barometric Pressure", "barometer"),
        ("Coolant temp", "coolant-temperature"),
        ("Fuel rail pressure", ""),
    ],
)
def test_names_propose_roles(twin, name, role):
    assert twin("pwa.engine.logs.roles").propose(["x", name]) == ["", role]


@given(st.lists(st.text(max_size=30), max_size=12))
def test_no_role_is_proposed_twice(names):
    given = [role for role in roles_module.propose(names) if role]
    assert len(given) == len(set(given))


def test_a_date_beside_a_time_does_not_stand_in_its_way(reader):
    rows = [("25.11.2026", f"10:00:0{index}", *row[1:]) for index, row in enumerate(ROWS)]
    log = reader.read([table(";", head=("Date", "Time", *NAMES[1:]), rows=rows)])
    assert (log["time_unit"], log["duration"]) == ("s", 3)


def test_columns_of_words_do_no_harm(reader):
    rows = [(*row, "on, idle", "OK") for row in ROWS]
    text = table(";", head=(*NAMES, "state", "lamp"), rows=rows)
    log = reader.read([text])
    assert (log["rows"], log["damaged"]["count"], len(log["signals"])) == (4, 0, 3)


def frame_rows(head, row, before=""):
    return before + head + "\n" + "".join(row(index, *frame) + "\n" for index, frame in enumerate(BUS + LONG))


def parted(data, mark):
    return mark.join(data[at : at + 2] for at in range(0, len(data), 2))


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        (
            frame_rows(
                "Time Stamp (ms),ID,Extended,Dir,Bus,LEN,D1,D2,D3,D4,D5,D6,D7,D8",
                lambda index, identifier, data: f"{index},{identifier},true,Rx,0,8,{parted(data, ',')},",
            ),
            True,
        ),
        (
            frame_rows(
                "time_ms;CAN ID;DLC;Data",
                lambda index, identifier, data: f"{index};0x{identifier.lower()};8;{parted(data, ' ')}",
                "A recorder\n\n",
            ),
            True,
        ),
        (
            frame_rows(
                "Zeit\tID\td0\td1\td2\td3\td4\td5\td6\td7",
                lambda index, identifier, data: (
                    f"25.11.2026 10:00:00,00{index}\t{identifier}\t{parted(data, chr(9))}"
                ),
            ),
            True,
        ),
        (
            frame_rows(
                '"Time","Identifier","Payload"',
                lambda index, identifier, data: f'"0.00{index}","{identifier}h","{data}"',
            ),
            False,
        ),
    ],
)
def test_frames_in_a_table_are_frames(reader, text, sure):
    log = reader.read([text])
    plain = reader.read([file_log(*BUS, *LONG)])
    assert (log["form"], log["rows"], log["damaged"]["count"]) == ("frame table", 8, 0)
    assert [(item["key"], item["last"]) for item in log["signals"]] == [
        (item["key"], item["last"]) for item in plain["signals"]
    ]
    assert [code["key"] for code in log["codes"]] == ["102/16", "641/7"]
    assert log["duration"] == pytest.approx(0.007)
    assert any("no unit" in warning for warning in log["warnings"]) != sure


def test_damage_in_a_table_of_frames_is_named(reader):
    text = frame_rows("t s,ID,Ext,Data", lambda i, identifier, data: f"{i},{identifier},1,{data}")
    log = reader.read([text + "9,18FEF600,maybe,FF\n10,18FEF600,1,FFF\n11\n12,7DF,0,0201\n"])
    assert [line["line"] for line in log["damaged"]["first"]] == [10, 11, 12]
    assert any("11-bit" in warning for warning in log["warnings"])


def long_table():
    """5,000 rows, some of them odd: an empty cell, words, a time of NaN, a time that jumps back."""
    lines = ["Time (s),VGT command (%),VGT position (%)"]
    for index in range(5000):
        lines.append(f"{index / 50},{index % 101},{'' if index % 700 == 3 else index % 97}")
    lines[1234] = "24.66,oops,1"
    lines[3000] = "nan,1,1"
    lines[4000] = "1.0,50,50"
    return "\n".join(lines)


def test_a_long_table_is_read_alike_in_any_pieces(reader):
    text = long_table()
    log = reader.read([text[at : at + 30_000] for at in range(0, len(text), 30_000)])
    assert log == module.read([text]) == module.read([text[at : at + 999] for at in range(0, len(text), 999)])
    assert (log["rows"], log["damaged"]["count"], log["damaged"]["first"][0]["line"]) == (4998, 2, 1235)
    assert signal(log, "vgt-position")["missing"] == 8
    assert signal(log, "vgt-command")["count"] == 4998
    assert any("jump back 1 times" in warning for warning in log["warnings"])


def test_a_long_log_of_frames_is_read_alike_in_any_pieces(reader):
    text = file_log(*(BUS * 1200))
    log = reader.read([text[at : at + 30_000] for at in range(0, len(text), 30_000)])
    assert log == module.read([text]) == module.read([text[at : at + 999] for at in range(0, len(text), 999)])
    assert [item["count"] for item in log["signals"] if item["count"]] == [1200] * 6


def test_values_keep_their_times_when_others_are_missing():
    made = module.Reader()
    made.feed(long_table())
    made.finish()
    for key, divisor in (("vgt-command", 101), ("vgt-position", 97)):
        times, values = made.series(key)
        assert len(times) == len(values)
        pairs = [(time, value) for time, value in zip(times, values, strict=True) if time not in (1.0, 24.66)]
        assert all(value == round(time * 50) % divisor for time, value in pairs)


def test_a_column_that_starts_late_has_its_own_times():
    rows = [(index / 10, index, index if index > 2500 else "") for index in range(5000)]
    made = module.Reader()
    made.feed(table(head=("time s", "rpm", "boost"), rows=[(0, 1, 2), *rows[1:]]))
    made.finish()
    assert made.series("boost")[0][1] == pytest.approx(250.1)
    assert len(made.series("boost")[0]) == len(made.series("boost")[1]) == 2500
