"""What a reading in the job keeps of the recording it was judged from, in words and as a small picture."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.kinds.worksheets import recorded
from pwa.app.recordings import chart

if TYPE_CHECKING:
    from pwa.app.kinds.data import Reading
    from pwa.app.recordings.chart import Chart

ORDER = ("vgt-command", "vgt-position")


class Recorded(TypedDict):
    """What a reading says of its recording; `drawn` is None where there is no picture of two lines."""

    told: str
    signals: "list[str]"
    drawn: "Chart | None"


def shown(data: "Reading") -> "Recorded | None":
    """The file and the picture of the part, for the measure's page; None for what was typed."""
    log = data.get("log")
    if not log:
        return None
    picture, signals = log.get("picture", {}), log.get("signals", {})
    found = [signals.get(role) for role in ORDER]
    lines = [picture[role] for role in ORDER if picture.get(role)]
    return {
        "told": recorded(log),
        "signals": [f"{used['name']}: {used['source']}" for used in found if used],
        "drawn": chart.draw(lines, log["start"], log["end"]) if len(lines) == 2 else None,
    }
