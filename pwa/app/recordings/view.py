"""What is in a recording, as its page shows it: signals to choose, trouble codes in words, damage."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.evidence import code_meaning
from pwa.app.recordings.charts import COMMAND, POSITION, extent
from pwa.app.recordings.recording import TIME, UNIT, choices
from pwa.engine.logs.table import TIME_UNITS
from pwa.engine.numbers.rounding import four_digits

if TYPE_CHECKING:
    from pwa.app.protocol import Content
    from pwa.app.recordings.recording import Mapping, Recording
    from pwa.app.visit import Context
    from pwa.engine.logs.faults import Fault
    from pwa.engine.logs.series import Signal

OFFERED_UNITS = ("s", "ms", "us", "min", "h")
NOT_USED = "Not used"


class Option(TypedDict):
    key: str
    label: str
    chosen: bool


class Row(TypedDict):
    """A column or signal, with what it may be taken for."""

    field: str
    name: str
    range: str
    notes: str
    options: "list[Option]"
    used: bool


class Times(TypedDict):
    """The columns that may be the time, and its units."""

    options: "list[Option]"
    units: "list[Option]"


class Code(TypedDict):
    """A trouble code in words; `value` is what the page sends when it is to go into the job."""

    matters: bool
    label: str
    text: str
    detail: str
    doubt: str
    value: str


def contents(recording: "Recording", content: "Content") -> "Context":
    """What is in it: signals with what they are taken for, trouble codes in words, damage."""
    log = recording.found
    timed = log["time_unit"] == "s"
    warnings = list(log["warnings"])
    if recording.full:
        warnings.append(
            f"Only the first {log['rows']} rows are read: more is too much for a phone. Cut it into parts."
        )
    return {
        "name": recording.name,
        "form": log["form_name"],
        "rows": log["rows"],
        "length": f"{four_digits(log['duration'])} s" if timed else "no times",
        "signals": _columns(recording) if log["columns"] else _signals(recording),
        "known": len([signal for signal in log["signals"] if signal["count"]]),
        "times": _times(recording),
        "ready": recording.has(COMMAND) and recording.has(POSITION),
        "framed": log["form"] != "table",
        "codes": _codes(log["codes"], content),
        "damaged": log["damaged"],
        "warnings": warnings,
    }


def mapping_of(recording: "Recording", form: "dict[str, str]", changed: str) -> "Mapping":
    """The choices on the page as role -> column; of two with one role, the one just changed."""
    mapping: Mapping = {role: "" for role, _ in choices()}
    names = _names(recording)
    if recording.found["columns"]:
        mapping[TIME], mapping[UNIT] = form.get(TIME, ""), form.get(UNIT, "")
    order = [name for name in form if name != changed] + [changed]
    for field in order:
        if field.startswith("role-") and form.get(field) in mapping:
            mapping[form[field]] = names[int(field[5:])]
    return mapping


def _columns(recording: "Recording") -> "list[Row]":
    """The columns of a table that have numbers, each with what it is taken for."""
    signals = {signal["key"]: signal for signal in recording.found["signals"]}
    rows = []
    for place, column in enumerate(recording.found["columns"]):
        if column["kind"] != "number" or (column["role"] == TIME and recording.reader.timed):
            continue
        key = column["role"] or column["name"]
        signal = signals.get(key) if column["read"] else None
        unit = f" [{column['unit']}]" if column["unit"] and column["unit"] not in column["name"] else ""
        rows.append(_row(recording, place, column["name"] + unit, key, signal, ""))
    return rows


def _signals(recording: "Recording") -> "list[Row]":
    """The signals of frames, with where each comes from."""
    return [
        _row(recording, place, signal["name"], signal["key"], signal, signal["source"])
        for place, signal in enumerate(recording.found["signals"])
    ]


def _row(
    recording: "Recording", place: int, name: str, key: str, signal: "Signal | None", source: str
) -> Row:
    taken = [role for role in recording.keys if recording.keys[role] == key] if signal else []
    notes = [source] if source else []
    if signal and signal["standing"]:
        notes.append(f"scale: {signal['standing']}")
    if signal and signal["errors"]:
        notes.append(f"the sender reports an error {signal['errors']} times")
    if signal and signal["missing"]:
        notes.append(f"no value {signal['missing']} times")
    options: list[Option] = [{"key": "", "label": NOT_USED, "chosen": not taken}]
    options += [{"key": role, "label": said, "chosen": role in taken} for role, said in choices()]
    return {
        "field": f"role-{place}",
        "name": name,
        "range": extent(signal) if signal else "not read yet",
        "notes": "; ".join(notes),
        "options": options,
        "used": bool(taken),
    }


def _names(recording: "Recording") -> "list[str]":
    """What the fields of the page stand for, by their number."""
    log = recording.found
    if log["columns"]:
        return [column["name"] for column in log["columns"]]
    return [signal["key"] for signal in log["signals"]]


def _times(recording: "Recording") -> "Times | None":
    """Which column has the time, and in what unit; None for frames."""
    columns = recording.found["columns"]
    if not columns:
        return None
    options: list[Option] = [
        {"key": "", "label": "None: count the rows", "chosen": not recording.reader.timed}
    ]
    options += [
        {"key": column["name"], "label": column["name"], "chosen": column["role"] == TIME}
        for column in columns
        if column["kind"] != "text"
    ]
    chosen = recording.mapping.get(UNIT, "")
    asked = [("", "as the file says")] + [(unit, unit) for unit in OFFERED_UNITS if unit in TIME_UNITS]
    return {
        "options": options,
        "units": [{"key": unit, "label": label, "chosen": unit == chosen} for unit, label in asked],
    }


def _codes(faults: "list[Fault]", content: "Content") -> "list[Code]":
    """Those that are evidence in this job first: a bus carries codes of the whole truck."""
    codes = [_code(fault, content) for fault in faults]
    return [code for code in codes if code["matters"]] + [code for code in codes if not code["matters"]]


def _code(fault: "Fault", content: "Content") -> Code:
    code: code_meaning.Named = {
        "kind": "j1939",
        "key": fault["key"],
        "spn": fault["spn"],
        "fmi": fault["fmi"],
    }
    times = fault["occurrences"]
    count = "" if times is None else ", counted once" if times == 1 else f", counted {times} times"
    state = "active" if fault["active"] else "was active before"
    others = [str(spn) for spn in fault["candidates"]]
    found = code_meaning.of_code(content["codes"], code)
    return {
        "matters": bool(found["finding"]),
        "label": f"SPN {fault['spn']} FMI {fault['fmi']}",
        "text": found["text"],
        "detail": f"{state}, from control module {fault['sender']}{count}",
        "doubt": "" if len(others) == 1 else "old conversion method, the SPN is one of " + ", ".join(others),
        "value": code_text(fault),
    }


def code_text(fault: "Fault") -> str:
    """A code as one line of text that `screens/recording.py` reads again."""
    parts = [
        fault["key"],
        "DM1" if fault["active"] else "DM2",
        str(fault["sender"]),
        "" if fault["occurrences"] is None else str(fault["occurrences"]),
        " ".join([str(spn) for spn in fault["candidates"]]),
        ";".join(fault["lamps"]),
    ]
    return "|".join(parts)
