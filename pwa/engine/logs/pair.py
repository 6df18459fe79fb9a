"""Command and position of a log at common times, as the sweep wants them."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwa.engine.logs.reader import Log, Reader

STALE = 2.0  # s after which a command that was not sent again says nothing


def samples(
    reader: "Reader",
    command: str = "vgt-command",
    position: str = "vgt-position",
    start: "float | None" = None,
    end: "float | None" = None,
) -> "list[list[float]]":
    """[seconds from the log's start, command, position] at every time the position was sent.

    The command is the latest one sent until then: on a bus the two come in messages of their own. `start` and
    `end`, in the same seconds, take a part, which a long log is better judged by.

    Raises:
        ValueError: the log lacks one of the two, or they never come together.
    """
    if not reader.timed:
        raise ValueError("The log has no times, so it does not say how fast the position follows.")
    sent, commands = reader.series(command)
    times, positions = reader.series(position)
    found: list[list[float]] = []
    low = -1.0 if start is None else start
    place, count = -1, len(sent)
    for index, time in enumerate(times):
        while place + 1 < count and sent[place + 1] <= time:
            place += 1
        since = time - reader.start
        if since < low or (end is not None and since > end):
            continue
        if place >= 0 and time - sent[place] <= STALE:
            found.append([since, commands[place], positions[index]])
    if not found:
        raise ValueError(f"There is no moment with both {command} and {position}.")
    return found


def doubts(log: "Log", command: str = "vgt-command", position: str = "vgt-position") -> "list[str]":
    """What to mind beside a verdict on the two: errors that the sender reports, scales, damage."""
    said: list[str] = []
    for signal in log["signals"]:
        if signal["key"] not in (command, position):
            continue
        name = signal["name"]
        if signal["errors"]:
            said.append(
                f"{name}: the sender reports it in error {signal['errors']} times, left out here. That is an "
                "electrical sign: measure the sensor's circuit."
            )
        if signal["standing"].startswith("from memory"):
            said.append(f"{name}: the scale is {signal['standing']}.")
    damaged = log["damaged"]["count"]
    if damaged:
        said.append(f"{damaged} {'line' if damaged == 1 else 'lines'} of the log damaged, left out.")
    return said
