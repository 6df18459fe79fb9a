"""Command and position of a log at common times, as the sweep wants them."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwa.engine.logs.reader import Reader

STALE = 2.0  # s after which a command that was not sent again says nothing


def samples(
    reader: "Reader", command: str = "vgt-command", position: str = "vgt-position"
) -> "list[list[float]]":
    """[time from the first, command, position] at every time the position was sent.

    The command is the latest one sent until then: on a bus the two come in messages of their own.

    Raises:
        ValueError: the log lacks one of the two, or they never come together.
    """
    if not reader.timed:
        raise ValueError("The log has no times, so it does not say how fast the position follows.")
    sent, commands = reader.series(command)
    times, positions = reader.series(position)
    found: list[list[float]] = []
    place, count = -1, len(sent)
    for index, time in enumerate(times):
        while place + 1 < count and sent[place + 1] <= time:
            place += 1
        if place >= 0 and time - sent[place] <= STALE:
            found.append([time - times[0], commands[place], positions[index]])
    if not found:
        raise ValueError(f"The log has no moment with both {command} and {position}.")
    return found
