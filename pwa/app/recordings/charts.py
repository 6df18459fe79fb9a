"""Pictures of the part of a recording that is looked at, drawn from its thinned signals."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.recordings import chart
from pwa.app.recordings.recording import choices
from pwa.engine.logs import pair, plot
from pwa.engine.numbers.rounding import HALF_UP, four_digits

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.recordings.chart import Chart
    from pwa.app.recordings.recording import Recording
    from pwa.app.visit import Context
    from pwa.engine.logs.series import Signal

LOOPED = 800  # samples in the picture of position over command
COMMAND, POSITION = "vgt-command", "vgt-position"
# What is drawn over time, where the recording has it; two of a kind share a chart.
CHARTS = (
    ("Command and position", (COMMAND, POSITION)),
    ("Boost", ("boost",)),
    ("Engine speed", ("engine-speed",)),
    ("Turbo speed", ("turbo-speed",)),
    ("EGR valve", ("egr-command", "egr-position")),
)


class Legend(TypedDict):
    mark: str  # of the line, as `chart.Line`
    text: str


class Picture(TypedDict):
    drawn: "Chart"
    words: str


class Titled(Picture):
    title: str
    legend: "list[Legend]"


def pictures(recording: "Recording") -> "Context":
    """The charts of the part looked at, drawn from the thinned signals."""
    start, end = recording.start, recording.end
    charts = []
    for title, roles in CHARTS:
        known = [role for role in roles if recording.has(role)]
        if known:
            charts.append(_over_time(recording, title, known))
    return {
        "charts": charts,
        "loop_drawn": _loop(recording) if recording.has(COMMAND) and recording.has(POSITION) else None,
        "from": seconds(start, end - start),
        "to": seconds(end, end - start),
        "unit": "s" if recording.reader.timed else "rows",
        "whole": end - start >= recording.found["duration"],
    }


def seconds(value: float, span: float) -> str:
    """A time as fine as the part it bounds asks for."""
    value *= HALF_UP
    if span >= 2000:
        return f"{value:.0f}"
    return f"{value:.1f}" if span >= 20 else f"{value:.3f}"


def points(recording: "Recording", role: str, columns: int, start: float, end: float) -> "list[list[float]]":
    """A signal's part, thinned, its times from the recording's start."""
    times, values = recording.series(role)
    zero = recording.reader.start
    thinned = plot.thin(times, values, columns, zero + start, zero + end)
    return [[time - zero, value] for time, value in thinned]


def _over_time(recording: "Recording", title: str, roles: "list[str]") -> Titled:
    start, end = recording.start, recording.end
    lines = [points(recording, role, chart.COLUMNS, start, end) for role in roles]
    signals = [recording.used(role) for role in roles]
    said = [f"{_role(role)} {extent(signal)}" for role, signal in zip(roles, signals)]
    legend: list[Legend] = [{"mark": "fine", "text": _legend(roles[-1], signals[-1])}]
    if len(roles) == 2:
        legend.insert(0, {"mark": "broad", "text": _legend(roles[0], signals[0])})
    return {
        "title": title,
        "legend": legend,
        "drawn": chart.draw(lines, start, end),
        "words": f"{title} over time; in the whole recording {', '.join(said)}.",
    }


def _loop(recording: "Recording") -> "Picture | None":
    """Position over command: samples of the position, evenly taken, each with the command in force then."""
    sent, commands = recording.series(COMMAND)
    times, positions = recording.series(POSITION)
    zero = recording.reader.start
    first = _latest(times, zero + recording.start, 0, len(times)) + 1
    last = _latest(times, zero + recording.end, 0, len(times))
    line, place = [], 0
    for at in range(max(first - 1, 0), last + 1, max(1, (last - first) // LOOPED)):
        place = _latest(sent, times[at], place, len(sent))
        if place >= 0 and times[at] - sent[place] <= pair.STALE:
            line.append([commands[place], positions[at]])
    if len(line) < 2:
        return None
    across = [point[0] for point in line]
    margin = max((max(across) - min(across)) / 20, 0.5)
    return {
        "drawn": chart.draw([line], min(across) - margin, max(across) + margin, chart.SQUARE),
        "words": "Position over command for the part shown: a wide loop is hysteresis.",
    }


def _latest(times: "Any", time: float, low: int, high: int) -> int:
    """The last place whose time is not after this one; -1 if all are."""
    low = max(low, 0)
    while low < high:
        middle = (low + high) // 2
        if times[middle] <= time:
            low = middle + 1
        else:
            high = middle
    return low - 1


def _role(role: str) -> str:
    return dict(choices())[role]


def _legend(role: str, signal: "Signal") -> str:
    return _role(role) + (f", {signal['unit']}" if signal["unit"] else "")


def extent(signal: "Signal") -> str:
    if signal["least"] is None or signal["most"] is None:
        return "no value"
    unit = f" {signal['unit']}" if signal["unit"] else ""
    return f"{four_digits(signal['least'])} to {four_digits(signal['most'])}{unit}"
