"""What a screen wants to write is judged before it is sealed; what does not fit comes back with all of it.

So whatever a phone calls saved, every door takes, and it counts. One page does it for every form: what is too
long or out of range stands in a field with the sentence beside it, and the rest goes along unseen.
"""

import json
from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find
from pwa.app.contract import FORM_TOKEN, RECORD_BYTES
from pwa.app.kinds import check, shape
from pwa.app.kinds.table import KINDS
from pwa.app.record import seen
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Draft

ROOM = RECORD_BYTES - 72 * 1024  # for the fields; the rest is for what stands around them in a record
LABELS = {
    "text": "Text",
    "unit": "Truck",
    "caption": "What the photo shows",
    "other": "Reason",
    "source": "Where it comes from",
    "limit_source": "Where the limit comes from",
    "typed": "As typed",
    "come_back": "A comeback costs",
    "actual": "At the wrench",
}


class Field(TypedDict):
    """A field of the form, to be mended; `error` is "" where nothing is known to be wrong with it."""

    name: str
    label: str
    text: str
    error: str
    longest: int  # 0 where it has no limit of its own
    area: bool


def refused(visit: Visit, drafts: "list[Draft]") -> "Reply | None":
    """The page that says what does not fit, None when all of it does."""
    wrong: dict[str, Field] = {}
    more: list[str] = []
    for draft in drafts:
        said = check.wrong(draft["kind"], draft["data"])
        for name in said:
            found = _typed(visit, name, draft["data"].get(name))
            for field in found:
                wrong[field] = _field(visit, field, said[name], _longest(draft["kind"], name))
            if not found:
                more.append(f"{KINDS[draft['kind']].title} {name} {said[name]}")
        size = len(json.dumps(draft["data"]).encode())
        if size > ROOM and not said:
            more.append(f"All of it together is {size // 1024} KB, and {ROOM // 1024} KB fit. Shorten it.")
    if not wrong and not more:
        return None
    fields = list(wrong.values())
    if more:  # nobody knows which of them it is
        fields += [_field(visit, name, "", 0) for name in _written(visit) if name not in wrong]
    named = [field["name"] for field in fields]
    along = [
        {"name": name, "value": value}
        for name, values in visit.request["form"].items()
        for value in (values[1:] if name in named else values)
        if name not in (FORM_TOKEN, seen.FIELD)  # the page has its own
    ]
    context = {"fields": fields, "along": along, "more": more, "action": visit.request["path"]}
    return page("frame/again.html", context, 422)


def _typed(visit: Visit, name: str, value: "Any") -> "list[str]":
    """The fields of the form that a field of the record was made from: of its name, or with its text."""
    if visit.field(name):
        return [name]
    same = [field for field in _written(visit) if visit.field(field) == value]
    return same or [field for field in _written(visit) if len(visit.field(field)) > shape.LINE]


def _written(visit: Visit) -> "list[str]":
    """Fields that somebody typed into; the rest of a form are choices and what its page adds."""
    return [name for name in visit.request["form"] if visit.field(name) and not name.startswith("layby-")]


def _longest(kind: str, name: str) -> int:
    for field in KINDS[kind].fields:
        if field.name == name and isinstance(field.type, shape.Text):
            return int(field.type.longest)
    return 0


def _field(visit: Visit, name: str, said: str, longest: int) -> Field:
    text = visit.field(name)
    if longest and len(text) > longest:
        said = f"This is {len(text)} characters long, and {longest} fit. Shorten it by {len(text) - longest}."
    elif said:
        said = "This value " + said
    return {
        "name": name,
        "label": _label(visit, name),
        "text": text,
        "error": said,
        "longest": longest,
        "area": len(text) > 60,
    }


def _label(visit: Visit, name: str) -> str:
    measure = find(visit.content["measures"], visit.params.get("measure", ""))
    asked = find(measure["inputs"], name) if measure else None
    words = name.replace("_", " ")
    return asked["label"] if asked else LABELS.get(name, words[:1].upper() + words[1:])
