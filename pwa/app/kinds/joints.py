"""What is known of a joint: its marks and readings, words, tolerance, limits, and what was opened unseen."""

from typing import TYPE_CHECKING

from pwa.app.content import name_of
from pwa.app.kinds.shape import (
    JOINTS,
    Either,
    Kind,
    List,
    Maybe,
    Number,
    Shape,
    Whole,
    key,
    line,
    needed,
    number,
    optional,
    point,
    text,
    truth,
)
from pwa.engine.numbers.rounding import half_up

if TYPE_CHECKING:
    from pwa.app.kinds.data import (
        AngleReading,
        DrainReading,
        Marks,
        PhotoCounts,
        Tolerance,
        TravelLimits,
        Unphotographed,
        Written,
    )
    from pwa.app.protocol import Content

NORMAL = 1.96  # standard deviations to either side that hold 95 %
MOST_BOLTS, MOST_TAPS = 100, 1000
degrees = Number("°", -360, 360)

ELLIPSE = Shape("Ellipse", [needed(name, number) for name in ("cx", "cy", "a", "b", "phi")])
ANGLE = Shape(
    "AngleReading",
    [
        needed("angle", degrees),
        needed("u", Number("°", 0, None)),
        needed("ellipse", ELLIPSE),
        # What a reading of an older version may lack.
        optional("low", Number("°", None, None)),
        optional("high", Number("°", None, None)),
        optional("noise", Number("°", 0, None)),
        optional("limit", Number("°", 0, None)),
        optional("perspective", key),
        optional("residual", Number("px", 0, None)),
        optional("coverage", Number("°", 0, 360)),
        optional("tap", Number("px", 0, None)),
        optional("marks", List(point, 2, 2)),
        optional("shift", number),
        optional("nearness", number),
        optional("advice", text),
    ],
)
DRAIN = Shape(
    "DrainReading",
    [
        needed("off", Number("°", 0, 180)),
        needed("u", Number("°", 0, None)),
        needed("low", Number("°", 0, 180)),
        needed("high", Number("°", 0, 180)),
        needed("ellipse", ELLIPSE),
        needed("verdict", key),
        needed("advice", text),
        needed("sentence", text),
    ],
)


def short(found: "AngleReading | DrainReading") -> str:
    """A reading within a sentence."""
    if "off" in found:
        off, low, high = (f"{half_up(found[name]):.0f}°" for name in ("off", "low", "high"))
        return f"{off} from straight down ({low} to {high})"
    return f"{half_up(found['angle'], 1):.1f}° ± {half_up(NORMAL * found['u'], 1):.1f}°"


def _side(data: "Marks | PhotoCounts | Written", content: "Content") -> str:
    return f"{name_of(content['joints'], data['joint'])}, {data['moment'].replace('-', ' ')}"


def _marks(data: "Marks", content: "Content") -> str:
    return f"{_side(data, content)}: {short(data['reading'])}"


def _photo_counts(data: "PhotoCounts", content: "Content") -> str:
    if data["counts"]:
        return f"{_side(data, content)}: a photo counts again"
    return f"{_side(data, content)}: a photo does not count ({data.get('reason', '')})"


def _written(data: "Written", content: "Content") -> str:
    return f"{_side(data, content)}: {data['text']}"


def _unphotographed(data: "Unphotographed", content: "Content") -> str:
    names = "; ".join([name_of(content["joints"], joint) for joint in data["joints"]])
    return f"{names}. Reason: {data['reason']}"


def _tolerance(data: "Tolerance", content: "Content") -> str:
    return f"{name_of(content['joints'], data['joint'])}: {data['degrees']}° ({data['source']})"


def _travel_limits(data: "TravelLimits", content: "Content") -> str:
    joint = name_of(content["joints"], data["joint"])
    return f"{joint}: {data['least']:g}° to {data['most']:g}° ({data['source']})"


KINDS = [
    Kind(
        "marks",
        "Marks set:",
        _marks,
        JOINTS,
        [
            needed("photo", key),
            needed("joint", key),
            needed("moment", key),
            needed("reading", Either((DRAIN, ANGLE))),
            # The taps, in pixels of the photo.
            optional("rim", List(point, 0, MOST_TAPS)),
            optional("holes", List(point, 0, MOST_BOLTS)),
            optional("fixed", Maybe(point)),
            optional("moving", Maybe(point)),
            optional("centre", Maybe(point)),
            optional("bolts", Whole(0, MOST_BOLTS)),
            optional("same_view", truth),
        ],
        subject=("joint", "moment", "photo"),
    ),
    Kind(
        "photo-counts",
        "Photo counts or not:",
        _photo_counts,
        JOINTS,
        [
            needed("photo", key),
            needed("joint", key),
            needed("moment", key),
            needed("counts", truth),
            optional("reason", text),
        ],
        subject=("joint", "moment", "photo"),
        says=("counts",),
    ),
    Kind(
        "written",
        "Written down:",
        _written,
        JOINTS,
        [needed("joint", key), needed("moment", key), needed("text", text)],
        subject=("joint", "moment"),
    ),
    Kind(
        "unphotographed",
        "Opened without a photo from before:",
        _unphotographed,
        "Opened without a photo",
        [needed("joints", List(key, 0, 200)), needed("reason", text), optional("step", key)],
        alone="Each person had a reason of their own.",
    ),
    Kind(
        "tolerance",
        "Tolerance:",
        _tolerance,
        JOINTS,
        [
            needed("joint", key),
            needed("degrees", Number("°", 0, 90)),
            needed("source", line),
            optional("bolts", Whole(0, MOST_BOLTS)),
            optional("diameter", Number("m", 0, 10)),  # of the rim; 0 where nobody said
        ],
        subject=("joint",),
    ),
    Kind(
        "travel-limits",
        "Limits of travel:",
        _travel_limits,
        JOINTS,
        [
            needed("joint", key),
            needed("least", Number("°", 0, 180)),
            needed("most", Number("°", 0, 180)),
            needed("source", line),
            optional("length", Number("m", 0, 10)),  # of the lever; 0 where nobody said
        ],
        subject=("joint",),
    ),
]
