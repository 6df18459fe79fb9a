"""The stepped table: command and position at rest, step by step up and down.

Terms follow ANSI/ISA-51.1 and ANSI/ISA-75.25.01 (travel, dead band, hysteresis, resolution, repeatability,
linearity); their wording is from memory. Command and position are in % of the same span, so that one per cent
of command should give one of travel.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.sweep.linearity import independent

if TYPE_CHECKING:
    from pwa.engine.sweep.linearity import Point

    Rows = list[list[float]]

FEWEST = 3
SAME = 0.5  # % within which two commands are the same one


class Stuck(TypedDict):
    """Command went on from `start` to `end` in one direction and the position stayed."""

    start: float
    end: float
    position: float


class Jump(TypedDict):
    """At a command the position left the way it was on; `change` is what it moved, in %."""

    command: float
    change: float


class Stepped(TypedDict):
    """All in % of span; None where the table does not say it (no way back, no second round)."""

    travel: float  # greatest less least position
    asked: float  # greatest less least command
    error: float  # greatest |position - command|
    error_at: float  # command at which
    low_gap: float  # |position - command| at the least command, the best time it was there
    high_gap: float
    hysteresis: "float | None"  # with the dead band: greatest difference of up and down at one command
    dead_band: "float | None"  # command change on reversal that gives no travel
    linearity: "float | None"  # independent: greatest departure from the straight line that makes it least
    resolution: "float | None"  # command change in one direction that gives travel
    resolution_is: str  # "at most" or "at least" that, "" if unknown
    repeatability: "float | None"  # greatest spread at one command from one direction
    stuck: "list[Stuck]"
    jumps: "list[Jump]"
    outside: int  # positions that no healthy sensor gives


def analyse(rows: "Rows", still: float, jump: float, low: float, high: float) -> Stepped:
    """What the rows [command, position] say, in the order they were taken.

    `still`: less is no movement; `jump`: a movement this far off the way is none of the mechanism; positions
    below `low` or above `high` are no positions. All in %.

    Raises:
        ValueError: fewer than three rows, commands outside 0 to 100 %, or one command only.
    """
    if len(rows) < FEWEST:
        raise ValueError(f"A sweep needs at least {FEWEST} rows: both ends and one between them.")
    for command, _ in rows:
        if not 0 <= command <= 100:
            raise ValueError(f"A command of {command:g} % cannot be: it is from 0 to 100 %.")
    sound = [row for row in rows if low <= row[1] <= high]
    if len(sound) < FEWEST:
        raise ValueError(
            "Fewer than three positions are inside what a sensor can give: measure the signal first."
        )
    commands = [row[0] for row in sound]
    positions = [row[1] for row in sound]
    if max(commands) - min(commands) < SAME:
        raise ValueError("The command never changed: step it from end to end.")
    jumps = _jumps(sound, still, jump)
    gaps = [abs(position - command) for command, position in sound]
    gain = _gain(sound)
    resolution, bound = _resolution(sound, still)
    return {
        "travel": max(positions) - min(positions),
        "asked": max(commands) - min(commands),
        "error": max(gaps),
        "error_at": commands[gaps.index(max(gaps))],
        "low_gap": gap_at(sound, min(commands)),
        "high_gap": gap_at(sound, max(commands)),
        "hysteresis": _hysteresis(sound),
        "dead_band": _dead_band(sound, still, gain),
        "linearity": independent(_means(sound)),
        "resolution": resolution,
        "resolution_is": bound,
        "repeatability": _repeatability(sound),
        "stuck": _stuck(sound, still),
        "jumps": jumps,
        "outside": len(rows) - len(sound),
    }


def gap_at(rows: "Rows", command: float) -> float:
    """|position - command| at a command, the least if it was there more than once."""
    return min([abs(row[1] - row[0]) for row in rows if abs(row[0] - command) < SAME])


def legs(rows: "Rows") -> "list[tuple[int, Rows]]":
    """The table cut where the command turns: direction (1 up, -1 down) and rows; the turn is in both."""
    found: list[tuple[int, Rows]] = []
    for before, row in zip(rows, rows[1:]):
        change = row[0] - before[0]
        if abs(change) < SAME and found:
            found[-1][1].append(row)
            continue
        direction = 1 if change >= 0 else -1
        if not found or found[-1][0] != direction:
            found.append((direction, [before]))
        found[-1][1].append(row)
    return found


def _means(rows: "Rows") -> "list[Point]":
    """The mean position at each command, up and down together."""
    groups: list[list[float]] = []  # command, sum, count
    for command, position in sorted(rows, key=lambda row: row[0]):
        if groups and command - groups[-1][0] < SAME:
            groups[-1][1] += position
            groups[-1][2] += 1
        else:
            groups.append([command, position, 1.0])
    return [(command, total / count) for command, total, count in groups]


def _gain(rows: "Rows") -> float:
    """Travel for each per cent of command: the slope of the least-squares line."""
    count = len(rows)
    x = sum([row[0] for row in rows]) / count
    y = sum([row[1] for row in rows]) / count
    spread = sum([(row[0] - x) * (row[0] - x) for row in rows])
    return sum([(row[0] - x) * (row[1] - y) for row in rows]) / spread


def _hysteresis(rows: "Rows") -> "float | None":
    """max |up - down| at one command: each way against the next, its points joined by lines."""
    most: float | None = None
    ways = [sorted(leg, key=lambda row: row[0]) for _, leg in legs(rows)]
    for way, back in zip(ways, ways[1:]):
        for one, other in ((way, back), (back, way)):
            for command, position in one:
                there = _at(other, command)
                if there is not None:
                    most = max(most or 0.0, abs(position - there))
    return most


def _at(leg: "Rows", command: float) -> "float | None":
    """Position of a leg, sorted by command, at this command; None outside it."""
    if not leg[0][0] <= command <= leg[-1][0]:
        return None
    for (x1, y1), (x2, y2) in zip(leg, leg[1:]):
        if x1 <= command <= x2:
            return y1 if x2 == x1 else y1 + (y2 - y1) * (command - x1) / (x2 - x1)
    return leg[-1][1]


def _dead_band(rows: "Rows", still: float, gain: float) -> "float | None":
    """On each turn: the command that gave nothing, and what the first travel leaves over of its command."""
    most: float | None = None
    for (_, leg), (_, before) in zip(legs(rows)[1:], legs(rows)):
        if len(before) < 2 or gain <= 0:
            continue
        command, position = leg[0]
        nothing = 0.0
        for row in leg[1:]:
            asked, moved = abs(row[0] - command), abs(row[1] - position)
            if moved >= still:
                nothing = max(nothing, asked - moved / gain)
                break
            nothing = asked
        most = max(most or 0.0, nothing)
    return most


def _resolution(rows: "Rows", still: float) -> "tuple[float | None, str]":
    """From steps that go on in one direction once the position moves: what moved it, or what did not."""
    moved: list[float] = []
    waited = 0.0
    for _, leg in legs(rows):
        moving, since = False, 0.0
        for before, row in zip(leg, leg[1:]):
            asked = abs(row[0] - before[0])
            if asked < SAME:
                continue
            since += asked
            if abs(row[1] - before[1]) >= still:
                if moving:
                    moved.append(since)
                moving, since = True, 0.0
            elif moving:
                waited = max(waited, since)
    if waited:
        return waited, "at least"
    return (min(moved), "at most") if moved else (None, "")


def _repeatability(rows: "Rows") -> "float | None":
    """The greatest spread at one command, taken from the same direction at least twice."""
    groups: list[list[float]] = []  # direction, command, least, greatest, count
    for direction, leg in legs(rows):
        for command, position in leg[1:]:
            for group in groups:
                if group[0] == direction and abs(group[1] - command) < SAME:
                    group[2], group[3] = min(group[2], position), max(group[3], position)
                    group[4] += 1
                    break
            else:
                groups.append([direction, command, position, position, 1])
    spreads = [group[3] - group[2] for group in groups if group[4] > 1]
    return max(spreads) if spreads else None


def _stuck(rows: "Rows", still: float) -> "list[Stuck]":
    """Where the position stays while the command goes on; right after a turn it is the dead band instead."""
    found: list[Stuck] = []
    for number, (_, leg) in enumerate(legs(rows)):
        start, moving = 0, number == 0
        for index in range(1, len(leg) + 1):
            if index < len(leg) and abs(leg[index][1] - leg[start][1]) < still:
                continue
            if moving and index - 1 > start and abs(leg[index - 1][0] - leg[start][0]) >= SAME:
                found.append({"start": leg[start][0], "end": leg[index - 1][0], "position": leg[start][1]})
            start, moving = index, True
    return found


def _jumps(rows: "Rows", still: float, jump: float) -> "list[Jump]":
    """Movements that lead away from the command: the mechanism follows it, catches up or stays behind."""
    found: list[Jump] = []
    for (c1, p1), (c2, p2) in zip(rows, rows[1:]):
        asked, moved = c2 - c1, p2 - p1
        behind = moved * asked >= 0 and abs(moved) <= abs(asked) + still
        if not behind and abs(p2 - c2) - abs(p1 - c1) > jump:
            found.append({"command": c2, "change": moved})
    return found
