"""Each record as one line that a person reads: in the timeline, beside a conflict, in the report."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import when
from pwa.app.evidence import situation
from pwa.app.joints import taps
from pwa.app.record.jobs import NOT_CHECKED, counts, is_newer
from pwa.app.recordings import kept

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Content, Record
    from pwa.app.visit import Visit

TITLES = {
    "job-opened": "Job started.",
    "caution-accepted": "Caution accepted:",
    "code": "Code:",
    "finding": "Found:",
    "skipped": "Skipped:",
    "here": "Where the truck stands:",
    "reading": "Measured:",
    "photo": "Photo.",
    "marks": "Marks set:",
    "photo-counts": "Photo counts or not:",
    "written": "Written down:",
    "unphotographed": "Opened without a photo from before:",
    "tolerance": "Tolerance:",
    "travel-limits": "Limits of travel:",
    "repair": "Repair:",
    "fastener": "Torque sheet:",
    "torque": "Torqued:",
    "cause": "Upstream cause:",
    "proof": "Proof:",
    "note": "Note:",
    "job-closed": "Job closed:",
}
CORRECTABLE = ("note", "photo")  # by text; every other kind is corrected on its own screen


class Entry(TypedDict):
    id: str
    time: str
    suspect: bool
    received: str  # by the server, "" where that is not known
    newer: bool  # a newer version wrote it, so that this one may miss something
    author: str
    title: str
    text: str
    photo: str
    correct: bool


def tell(record: "Record", visit: "Visit") -> Entry:
    zone = visit.request["zone"]
    kind = record["kind"]
    return {
        "id": record["id"],
        "time": when.local(record["time"], zone),
        "suspect": visit.is_suspect(record),
        "received": when.local(record["received"], zone) if "received" in record else "",
        "newer": is_newer(record) or kind not in TITLES,
        "author": record["author"],
        "title": TITLES.get(kind, kind + ":"),
        "text": text_of(record, visit.content),
        "photo": record["data"]["sha256"] if kind == "photo" and counts(record) else "",
        "correct": kind in CORRECTABLE and counts(record),
    }


def text_of(record: "Record", content: "Content") -> str:
    """What the record says, in words; a kind written by a newer version shows its fields."""
    data = record["data"]
    teller = _TELLERS.get(record["kind"])
    if teller is None or not counts(record):
        return ", ".join([f"{name} {data[name]}" for name in sorted(data)])
    return teller(data, content)


def name_of(content: "Content", table: str, key: str, field: str = "name") -> str:
    """The name that content gives to a key, or the key itself when this version does not know it."""
    for item in content[table]:
        if item["key"] == key:
            return str(item[field])
    return key


def outcome_label(content: "Content", finding: str, outcome: str) -> str:
    if outcome == NOT_CHECKED:
        return "answer taken back"
    for item in content["findings"]:
        if item["key"] == finding:
            for choice in item["outcomes"]:
                if choice["key"] == outcome:
                    return str(choice["label"])
    return outcome


def _with_note(text: str, data: "dict[str, Any]") -> str:
    return f"{text} ({data['note']})" if data.get("note") else text


def _opened(data: "dict[str, Any]", content: "Content") -> str:
    return f"{data['unit']}: {data['complaint']}"


def _caution(data: "dict[str, Any]", content: "Content") -> str:
    title = name_of(content, "cautions", data["caution"], "title")
    return f"{title} ({data['place']}: {data['rule']})" if data.get("rule") else title


def _code(data: "dict[str, Any]", content: "Content") -> str:
    return str(data.get("key") or data["typed"])


def _finding(data: "dict[str, Any]", content: "Content") -> str:
    name = name_of(content, "findings", data["finding"])
    seen = data.get("state", situation.ASSEMBLED)
    where = "" if seen == situation.ASSEMBLED else f", seen with the {seen}"
    return _with_note(f"{name}: {outcome_label(content, data['finding'], data['outcome'])}{where}", data)


def _here(data: "dict[str, Any]", content: "Content") -> str:
    return situation.as_text(situation.of(data), content)


def _skipped(data: "dict[str, Any]", content: "Content") -> str:
    return f"{name_of(content, 'findings', data['finding'])}: {data.get('reason', '')}"


def _reading(data: "dict[str, Any]", content: "Content") -> str:
    asked: list[dict[str, Any]] = []
    for measure in content["measures"]:
        if measure["key"] == data["measure"]:
            asked = measure["inputs"]
    known = [item["key"] for item in asked]
    later = [{"key": name, "label": name} for name in sorted(data["typed"]) if name not in known]
    given = [item for item in asked + later if data["typed"].get(item["key"])]
    typed = ", ".join([f"{item['label']} {_typed(item, data)}" for item in given])
    typed = kept.as_text(data["log"]) if data.get("log") else typed
    verdict = data["verdict"]
    sentence = verdict["sentence"] if verdict else "No verdict. " + data.get("refused", "")
    source = f" Source: {data['limit_source']}." if data.get("limit_source") else ""
    return f"{name_of(content, 'measures', data['measure'], 'title')} ({typed}). {sentence}{source}"


def _typed(item: "dict[str, Any]", data: "dict[str, Any]") -> str:
    """What was typed into one field: a number with the unit chosen beside it, a choice, or a table's rows."""
    typed, chosen = data["typed"][item["key"]], data.get("units", {})
    if isinstance(typed, list):
        names = [f"{item['key']}.{column['key']}" for column in item.get("columns", [])]
        names += [""] * (len(typed[0]) - len(names))
        rows = [[_with_unit(cell, chosen.get(name, "")) for cell, name in zip(row, names)] for row in typed]
        return "; ".join([", ".join(row) for row in rows])
    for choice in item.get("choices", []):
        if choice["key"] == typed:
            return str(choice["label"])
    return _with_unit(typed, chosen.get(item["key"], ""))


def _with_unit(typed: str, unit: str) -> str:
    """A number that was typed without a unit, with the one it was read in."""
    return f"{typed} {unit}" if typed and typed[-1] in "0123456789" and unit not in ("", "1") else typed


def _photo(data: "dict[str, Any]", content: "Content") -> str:
    where = name_of(content, "joints", data["joint"]) if data.get("joint") else ""
    moment = data.get("moment", "").replace("-", " ")
    parts = [part for part in (where, moment, data.get("caption", "")) if part]
    return ", ".join(parts)


def _marks(data: "dict[str, Any]", content: "Content") -> str:
    return f"{_side(data, content)}: {taps.short(data['reading'])}"


def _photo_counts(data: "dict[str, Any]", content: "Content") -> str:
    if data["counts"]:
        return f"{_side(data, content)}: a photo counts again"
    return f"{_side(data, content)}: a photo does not count ({data.get('reason', '')})"


def _side(data: "dict[str, Any]", content: "Content") -> str:
    return f"{name_of(content, 'joints', data['joint'])}, {data['moment'].replace('-', ' ')}"


def _written(data: "dict[str, Any]", content: "Content") -> str:
    return f"{_side(data, content)}: {data['text']}"


def _unphotographed(data: "dict[str, Any]", content: "Content") -> str:
    names = "; ".join([name_of(content, "joints", key) for key in data["joints"]])
    return f"{names}. Reason: {data['reason']}"


def _tolerance(data: "dict[str, Any]", content: "Content") -> str:
    return f"{name_of(content, 'joints', data['joint'])}: {data['degrees']}° ({data['source']})"


def _travel_limits(data: "dict[str, Any]", content: "Content") -> str:
    joint = name_of(content, "joints", data["joint"])
    return f"{joint}: {data['least']:g}° to {data['most']:g}° ({data['source']})"


def _repair(data: "dict[str, Any]", content: "Content") -> str:
    return _with_note(name_of(content, "repairs", data["repair"]), data)


def _fastener(data: "dict[str, Any]", content: "Content") -> str:
    place = name_of(content, "fasteners", data["place"])
    turn = f" and {data['turn']:g}°" if data.get("turn") else ""
    return f"{place}: {data['count']} × {data['torque']:.1f} N·m{turn} ({data['source']})"


def _torque(data: "dict[str, Any]", content: "Content") -> str:
    turned = f" and {data['turned']:g}°" if data.get("turned") is not None else ""
    return f"no. {data['bolt']}: {data['actual']:.1f} N·m{turned}"


def _cause(data: "dict[str, Any]", content: "Content") -> str:
    text = f"{name_of(content, 'causes', data['cause'])}: {data['decision']}"
    return f"{text} ({data['reason']})" if data.get("reason") else text


def _proof(data: "dict[str, Any]", content: "Content") -> str:
    value = f" {data['value']} {data.get('unit', '')}".rstrip() if data.get("value") else ""
    return _with_note(f"{name_of(content, 'proofs', data['proof'])}: {data['result']}{value}", data)


def _note(data: "dict[str, Any]", content: "Content") -> str:
    return str(data["text"])


def _closed(data: "dict[str, Any]", content: "Content") -> str:
    return _with_note(data["outcome"], data)


_TELLERS = {
    "job-opened": _opened,
    "caution-accepted": _caution,
    "code": _code,
    "finding": _finding,
    "skipped": _skipped,
    "here": _here,
    "reading": _reading,
    "photo": _photo,
    "marks": _marks,
    "photo-counts": _photo_counts,
    "written": _written,
    "unphotographed": _unphotographed,
    "tolerance": _tolerance,
    "travel-limits": _travel_limits,
    "repair": _repair,
    "fastener": _fastener,
    "torque": _torque,
    "cause": _cause,
    "proof": _proof,
    "note": _note,
    "job-closed": _closed,
}
