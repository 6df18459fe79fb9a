"""The causal chain of the leading suspects as a picture: rows from what is upstream down to the complaint.

Each row is a cause or an effect; an arc at the left leads from a cause to what it brings about. Rows stand in
causal order, so every arc leads down.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find
from pwa.app.evidence.isolation import percent
from pwa.engine.evidence import sides
from pwa.engine.numbers.rounding import half_up

if TYPE_CHECKING:
    from pwa.app.shapes import Cause, Content
    from pwa.engine.evidence.advice import Suspect

LEADING = 4  # suspects whose chains are drawn
SUSPECTED = 0.1  # a suspect less probable than this is not drawn
ROW = 44  # units of the drawing
LEFT = 64  # where the rows begin; the arcs have the room before it
STEP = 10  # how much further left an arc bows for each row that it passes
WIDE = 360


class Row(TypedDict):
    key: str
    name: str
    system: str
    y: int
    percent: str
    width: str


class Picture(TypedDict):
    width: int
    height: int
    left: int
    rows: "list[Row]"
    arcs: "list[str]"  # paths
    words: str  # the same in words


def picture(
    content: "Content", suspects: "list[Suspect]", chances: "dict[str, float]", complaints: "list[str]"
) -> "Picture | None":
    """The picture, or None when nobody is suspected enough.

    Args:
        chances: of each cause and effect.
        complaints: findings that the job began with.
    """
    leading = [item["cause"] for item in suspects if item["p"] >= SUSPECTED][:LEADING]
    if not leading:
        return None
    causes = {cause["key"]: cause for cause in content["causes"]}
    ends = [item for item in [find(content["findings"], key) for key in complaints] if item]
    kept = _between(causes, leading, [cause for end in ends for cause in end["shown_by"]])
    order = _ordered(causes, kept)
    places = {order[n]: n for n in range(len(order))}
    places.update({ends[n]["key"]: len(order) + n for n in range(len(ends))})
    edges = [
        (cause, effect)
        for effect in order
        for cause in sorted(causes[effect]["because_of"])
        if cause in places
    ]
    edges += [(cause, end["key"]) for end in ends for cause in order if cause in end["shown_by"]]
    rows = [_row(causes[key], places[key], chances.get(key, 0.0)) for key in order]
    rows += [_at(places[end["key"]], end["key"], end["complaint"], 1.0) for end in ends]
    names = {row["key"]: row["name"] for row in rows}
    return {
        "width": WIDE,
        "height": ROW * len(rows),
        "left": LEFT,
        "rows": rows,
        "arcs": [_arc(places[cause], places[effect]) for cause, effect in edges],
        "words": "; ".join([f"{names[cause]} leads to {names[effect]}" for cause, effect in edges]) + ".",
    }


def _between(causes: "dict[str, Cause]", leading: "list[str]", ends: "list[str]") -> "list[str]":
    """The leading suspects and the effects that lie between them and the complaint."""
    drawn = [key for key in causes if key in leading or causes[key]["system"] == "effect"]
    onward = {key: [k for k in drawn if key in causes[k]["because_of"]] for key in drawn}
    back = {key: [k for k in drawn if k in causes[key]["because_of"]] for key in drawn}
    after = _reached(leading, onward)
    before = _reached([key for key in ends if key in drawn], back)
    return [key for key in after if key in leading or key in before]


def _reached(start: "list[str]", onward: "dict[str, list[str]]") -> "list[str]":
    found = list(start)
    for key in found:  # grows while it is walked
        found += [other for other in sorted(onward[key]) if other not in found]
    return found


def _ordered(causes: "dict[str, Cause]", kept: "list[str]") -> "list[str]":
    """Causes before what they bring about."""
    left, order = sorted(kept), []
    while left:
        free = [key for key in left if not any(parent in left for parent in causes[key]["because_of"])]
        order.append(free[0])
        left.remove(free[0])
    return order


def _row(cause: "Cause", place: int, chance: float) -> Row:
    row = _at(place, cause["key"], cause["name"], chance)
    row["system"] = sides.name_of(cause["system"])
    row["percent"] = percent(chance)
    return row


def _at(place: int, key: str, name: str, chance: float) -> Row:
    return {
        "key": key,
        "name": name,
        "system": "",
        "y": ROW * place + ROW // 2,
        "percent": "",
        "width": f"{half_up(chance * (WIDE - LEFT), 1):.1f}",
    }


def _arc(above: int, below: int) -> str:
    y1, y2 = ROW * above + ROW // 2 + 6, ROW * below + ROW // 2 - 6
    x = LEFT - 8
    bow = max(x - STEP * (below - above + 1), 4)
    return f"M {x} {y1} C {bow} {y1}, {bow} {y2}, {x} {y2}"
