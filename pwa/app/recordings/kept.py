"""What a reading in the job keeps of the recording it was judged from, in words and as a small picture."""

from typing import TYPE_CHECKING

from pwa.app.recordings import chart
from pwa.engine.numbers.rounding import four_digits

if TYPE_CHECKING:
    from typing import Any

ORDER = ("vgt-command", "vgt-position")
HASH = 12  # digits of the file's hash that a person compares


def as_text(log: "dict[str, Any]") -> str:
    """One line for the timeline and the summary."""
    part = f"{four_digits(log['start'])} to {four_digits(log['end'])} s"
    return f"recording {log['name']}, {part}, {log['rows']} rows, SHA-256 {log['sha256'][:HASH]}…"


def shown(data: "dict[str, Any]") -> "dict[str, Any] | None":
    """The file and the picture of the part, for the measure's page; None for what was typed."""
    log = data.get("log")
    if not log:
        return None
    picture, signals = log.get("picture", {}), log.get("signals", {})
    found = [signals.get(role) for role in ORDER]
    lines = [picture[role] for role in ORDER if picture.get(role)]
    return {
        "told": as_text(log),
        "signals": [f"{used['name']}: {used['source']}" for used in found if used],
        "drawn": chart.draw(lines, log["start"], log["end"]) if len(lines) == 2 else None,
    }
