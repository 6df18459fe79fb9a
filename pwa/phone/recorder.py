"""The host of one recording in its own worker: called by recording.js with text, answers with JSON text.

The pieces of the file come as a file of the interpreter's own, since only text crosses the border.
"""

import json
from typing import TYPE_CHECKING

from jinja2.runtime import environment  # type: ignore[attr-defined]  # the phone's own, in lib

from pwa.app.recordings import charts, verdict, view
from pwa.app.recordings.recording import Recording

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from pwa.app.visit import Context

PIECE = "/piece"
NEEDED = ("measures", "findings", "cautions", "sources", "codes")  # of the content, to save memory
_at: "dict[str, Any]" = {}  # "content" and "recording", once there


def start(content: str) -> None:
    given = json.loads(content)
    _at["content"] = {name: given[name] for name in NEEDED}


def begin(asked: str) -> None:
    given = json.loads(asked)
    _at["recording"] = Recording(given["name"], given["size"], given["remembered"])


def take() -> str:
    with open(PIECE, "rb") as file:  # noqa: PTH123 (MicroPython has no pathlib)
        piece = file.read()
    return _answer(lambda recording: {"rows": recording.take(piece)})


def finish() -> str:
    def done(recording: Recording) -> "dict[str, Any]":
        recording.finish()
        return _whole(recording)

    return _answer(done)


def choose(asked: str) -> str:
    """Columns were chosen: {"form": {field: value}, "changed": field}."""
    given = json.loads(asked)

    def chosen(recording: Recording) -> "dict[str, Any]":
        mapping = view.mapping_of(recording, given["form"], given["changed"])
        signature = recording.signature()
        again = recording.choose(mapping)
        if again:
            recording.again()
        answer: dict[str, Any] = {"again": True} if again else _whole(recording)
        answer["remember"] = {"signature": signature, "mapping": mapping}
        return answer

    return _answer(chosen)


def move(asked: str) -> str:
    """Another part is looked at: {"how": ..., "share": ...}, or {"from": text, "to": text}."""
    given = json.loads(asked)

    def moved(recording: Recording) -> "dict[str, Any]":
        if "how" in given:
            recording.move(given["how"], given.get("share", 0.0))
        else:
            recording.look_typed(given["from"], given["to"])
        return {"pictures": _pictures(recording)}

    return _answer(moved)


def judge(asked: str) -> str:
    """A verdict on the part looked at: {"form": the limits as typed, "alone": bool}."""
    given = json.loads(asked)

    def judged(recording: Recording) -> "dict[str, Any]":
        found = verdict.judge(recording, _at["content"], given["form"], given["alone"])
        kept = found["kept"]
        html = _render("recordings/verdict.html", found["shown"])
        return {"verdict": html, "kept": json.dumps(kept) if kept else ""}

    return _answer(judged)


def _whole(recording: Recording) -> "dict[str, Any]":
    shown = view.contents(recording, _at["content"])
    return {
        "found": _render("recordings/found.html", shown),
        "codes": _render("recordings/codes.html", shown),
        "pictures": _pictures(recording),
        "ready": shown["ready"],
        "coded": len(shown["codes"]),
    }


def _pictures(recording: Recording) -> "dict[str, Any]":
    shown = charts.pictures(recording)
    html = _render("recordings/charts.html", shown)
    return {"html": html, "from": shown["from"], "to": shown["to"], "unit": shown["unit"]}


def _answer(work: "Callable[[Recording], dict[str, Any]]") -> str:
    """What the work gives, as JSON; its refusal as a sentence for the person."""
    try:
        return json.dumps(work(_at["recording"]))
    except ValueError as error:
        return json.dumps({"refused": str(error)})
    except MemoryError:
        return json.dumps({"refused": "The recording is too long for this phone. Cut it into parts."})


def _render(template: str, context: "Context") -> str:
    html: str = environment.get_template(template).render(context)
    return html
