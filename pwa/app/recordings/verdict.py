"""The verdict on a part of a recording, and what of it goes into the job."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.recordings.charts import COMMAND, POSITION, points, seconds
from pwa.app.worksheets import view
from pwa.app.worksheets.worksheet import WHOLE, Worksheet
from pwa.engine.logs import pair

if TYPE_CHECKING:
    from pwa.app.kinds.data import Log
    from pwa.app.kinds.data import Signal as Used
    from pwa.app.protocol import Content, Form
    from pwa.app.recordings.recording import Recording
    from pwa.app.visit import Context
    from pwa.engine.logs.series import Signal
    from pwa.engine.measures.verdict import Verdict

KEPT_COLUMNS = 90  # of the picture that goes into the job; a job's records should stay small
ROWS = "rows"  # the measure's input that is not typed here


class Kept(TypedDict):
    """What the job will be given of a judged part."""

    verdict: "Verdict"
    limits: "dict[str, float]"
    limit_source: str
    log: "Log"


class Judged(TypedDict):
    shown: "Context"
    kept: "Kept | None"


def judge(recording: "Recording", content: "Content", form: "Form", alone: bool) -> Judged:
    """`shown` for the page and `kept`, what the job will be given; None when there is no verdict.

    Args:
        form: the limits as typed.
        alone: nothing is going to be saved, so that the shop's own limits need no source.
    """
    measure = next(item for item in content["measures"] if item["key"] == view.RECORDED)
    sheet = Worksheet(measure, form)
    try:
        lacking = _lacking(recording)
        if lacking:
            raise ValueError(lacking)
        command, position = recording.keys[COMMAND], recording.keys[POSITION]
        sheet.values[ROWS] = pair.samples(recording.reader, command, position, recording.start, recording.end)
    except ValueError as error:
        sheet.errors[WHOLE] = str(error)
    sheet.empty = []
    sheet.require(source=not alone)
    verdict = sheet.verdict()
    if verdict:
        verdict["warnings"] = verdict["warnings"] + _doubts(recording)
    span = recording.end - recording.start
    return {
        "shown": {
            "verdict": view.shown(content, measure, verdict),
            "error": " ".join(sheet.problems()),
            "part": f"{seconds(recording.start, span)} to {seconds(recording.end, span)} s",
        },
        "kept": None
        if verdict is None
        else {
            "verdict": verdict,
            "limits": sheet.limits,
            "limit_source": sheet.source,
            "log": _summary(recording),
        },
    }


def _lacking(recording: "Recording") -> str:
    for role, name in ((COMMAND, "command"), (POSITION, "position")):
        if not recording.signal(role):
            return f"Nothing is taken for the {name}. Say under “Signals” which it is."
        if not recording.has(role):
            return f"The recording has no values of the {name}: the sender had none, or only errors."
    return ""


def _doubts(recording: "Recording") -> "list[str]":
    command, position = recording.keys[COMMAND], recording.keys[POSITION]
    said = pair.doubts(recording.found, command, position)
    for role in (COMMAND, POSITION):
        signal = recording.used(role)
        if signal["unit"] not in ("%", ""):
            said.append(f"{signal['name']} is in {signal['unit']}, but the limits are in %.")
    return said


def _summary(recording: "Recording") -> "Log":
    """What the job needs to know of the file: enough to find it again, and a small picture of the part."""
    log = recording.found
    used = {role: recording.used(role) for role in (COMMAND, POSITION)}
    return {
        "name": recording.name,
        "size": recording.size,
        "sha256": recording.sha256,
        "form": log["form_name"],
        "rows": log["rows"],
        "duration": log["duration"],
        "start": recording.start,
        "end": recording.end,
        "damaged": log["damaged"]["count"],
        "signals": {role: _signal(used[role]) for role in used},
        "picture": {role: _thinned(recording, role) for role in used},
    }


def _signal(signal: "Signal") -> "Used":
    return {
        "name": signal["name"],
        "unit": signal["unit"],
        "source": signal["source"],
        "standing": signal["standing"],
        "count": signal["count"],
        "least": signal["least"],
        "most": signal["most"],
    }


def _thinned(recording: "Recording", role: str) -> "list[list[float]]":
    found = points(recording, role, KEPT_COLUMNS, recording.start, recording.end)
    return [[round(time, 3), round(value, 2)] for time, value in found]
