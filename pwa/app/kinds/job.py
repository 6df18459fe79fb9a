"""What a job is about: opened and closed, cautions, notes, photos."""

from typing import TYPE_CHECKING

from pwa.app.content import name_of, title_of
from pwa.app.kinds.names import with_note
from pwa.app.kinds.shape import (
    HEAD,
    MOST,
    NAME,
    TIMELINE,
    Choice,
    Kind,
    List,
    Maybe,
    Number,
    Shape,
    Text,
    Whole,
    key,
    line,
    needed,
    optional,
    text,
)
from pwa.engine.evidence.case import NOT_KNOWN

if TYPE_CHECKING:
    from pwa.app.kinds.data import CautionAccepted, JobClosed, JobOpened, Note, Photo, Withdrawal
    from pwa.app.protocol import Content

ACTUATORS = [
    {"key": "electric", "label": "Electric motor"},
    {"key": "pneumatic", "label": "Compressed air"},
    {"key": "hydraulic", "label": "Oil pressure"},
    {"key": NOT_KNOWN, "label": "Not known yet"},
]
PLACES = ("roadside", "bay")
DONE, HANDED_OVER = "done", "handed over"

MOST_WITHDRAWN = 1000  # in one record
LONGEST_SIDE = 100_000  # px


def actuator(drive: str) -> str:
    """The type of actuator in words."""
    return "actuator type not known" if drive == NOT_KNOWN else f"{drive} actuator"


def _opened(data: "JobOpened", content: "Content") -> str:
    return f"{data['unit']}: {data['complaint']}"


def _caution(data: "CautionAccepted", content: "Content") -> str:
    title = title_of(content["cautions"], data["caution"])
    return f"{title} ({data.get('place', '')}: {data['rule']})" if data.get("rule") else title


def _note(data: "Note", content: "Content") -> str:
    return data["text"]


def _photo(data: "Photo", content: "Content") -> str:
    joint = data.get("joint", "")
    where = name_of(content["joints"], joint) if joint else ""
    parts = (where, data.get("moment", "").replace("-", " "), data.get("caption", ""))
    return ", ".join([part for part in parts if part])


def _withdrawal(data: "Withdrawal", content: "Content") -> str:
    return data["reason"]


def _closed(data: "JobClosed", content: "Content") -> str:
    return with_note(data["outcome"], data.get("note", ""))


KINDS = [
    Kind(
        "job-opened",
        "Job started.",
        _opened,
        HEAD,
        [
            needed("unit", line),
            needed("complaint", text),
            needed("drive", Choice(tuple(item["key"] for item in ACTUATORS))),
            needed("place", Choice(PLACES)),
            needed("engine", key),
            needed("distance", line),
            needed("hours", Maybe(Number("h", 0, 1e6))),
            # Findings of the model that are the complaint; without them it is lost power.
            optional("complaints", List(key, 0, 20)),
        ],
        subject=(),
    ),
    Kind(
        "caution-accepted",
        "Caution accepted:",
        _caution,
        "Cautions accepted",
        [
            needed("caution", key),
            # The distance of one jurisdiction, in the words in which it was shown.
            optional("place", line),
            optional("rule", text),
            optional("source", text),
            optional("as_of", line),
        ],
        alone="Who accepted it twice has still accepted it.",
    ),
    Kind(
        "note",
        "Note:",
        _note,
        "Notes",
        [needed("text", text)],
        alone="Every note stands.",
        corrects="text",
    ),
    Kind(
        "photo",
        "Photo.",
        _photo,
        "Photos",
        [
            needed("sha256", key),
            needed("size", Whole(0, MOST)),
            needed("type", Text(NAME)),
            needed("width", Whole(0, LONGEST_SIDE)),
            needed("height", Whole(0, LONGEST_SIDE)),
            needed("caption", text),
            needed("joint", key),
            needed("moment", key),
            optional(
                "checked",
                Maybe(
                    Shape(
                        "Checked",
                        [
                            optional("blur", Maybe(Number("px", 0, None))),
                            optional("dark", Number("1", 0, 1)),
                            optional("bright", Number("1", 0, 1)),
                            needed("problems", List(line, 0, 20)),
                        ],
                    )
                ),
            ),
            optional("gravity", Maybe(List(Number("m/s²", -100, 100), 3, 3))),
            optional("turned", Whole(-360, 360)),
        ],
        alone="Every photo stands; which of them counts is a record of its own.",
        photo="sha256",
        corrects="caption",
    ),
    Kind(
        "withdrawal",
        "Withdrawn:",
        _withdrawal,
        TIMELINE,
        # Ids of the records whose content goes (record/remains.py), and why.
        [needed("records", List(key, 1, MOST_WITHDRAWN)), needed("reason", text)],
        alone="What is withdrawn twice is withdrawn.",
    ),
    Kind(
        "job-closed",
        "Job closed:",
        _closed,
        HEAD,
        [
            needed("outcome", line),
            needed("note", text),
            optional("seen", text),  # what its page had seen of the job (record/seen.py)
        ],
        subject=(),
        says=("outcome",),
    ),
]
