"""A sampled trace of command and position: where it sticks, drops out, leaps, and where it comes to rest.

Samples are [time in s, command, position in %]. What counts as stuck or as a leap is our estimate.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.sweep import step_response
from pwa.engine.sweep.step_response import HELD

if TYPE_CHECKING:
    from pwa.engine.sweep.step_response import Samples, Step
    from pwa.engine.sweep.stepped import Rows

FEWEST = 10
REST = 1.0  # s that a command must be held to say where the position rests
LATELY = 1.0  # s in which a command may still be followed
APART = 5.0  # % between command and position, without which standing still is no fault
GAP = 5.0  # times the usual interval that makes a hole in the samples


class Stop(TypedDict):
    """The position stood still from `start` to `end` (s), away from the command."""

    start: float
    end: float
    position: float
    command: float


class Leap(TypedDict):
    """At `time` the position moved by `change` % in one sample, away from every command of late."""

    time: float
    change: float


class Trace(TypedDict):
    samples: int
    duration: float
    interval: float  # the usual time between samples, s
    outside: int  # samples that no healthy sensor gives
    dropouts: int  # times that it went outside
    holes: int  # times without samples
    leaps: "list[Leap]"
    stops: "list[Stop]"
    steps: "list[Step]"
    rests: "Rows"  # [command, position] at the end of each time that the command was held


def analyse(
    samples: "Samples", still: float, jump: float, low: float, high: float, hold: float, least: float = 5.0
) -> Trace:
    """What a trace says.

    `still`: less is no movement, %; `jump`: a movement in one sample that is a leap, %; positions outside
    `low` to `high` are none; `hold`: seconds without movement that are a stop; `least`: a step, %.

    Raises:
        ValueError: fewer than ten samples, times that do not rise, or no position that can be one.
    """
    if len(samples) < FEWEST:
        raise ValueError(f"A trace needs at least {FEWEST} samples.")
    gaps = [samples[index + 1][0] - samples[index][0] for index in range(len(samples) - 1)]
    if min(gaps) < 0:
        raise ValueError("The times of the trace do not rise: sort it, or take one recording alone.")
    usual = sorted(gaps)[len(gaps) // 2]
    if usual <= 0:
        raise ValueError("Most samples have the same time: the column of times may be the wrong one.")
    sound = [sample for sample in samples if low <= sample[2] <= high]
    if len(sound) < FEWEST:
        raise ValueError("Hardly a position can come from a sensor: measure its signal first.")
    inside = [low <= sample[2] <= high for sample in samples]
    return {
        "samples": len(samples),
        "duration": samples[-1][0] - samples[0][0],
        "interval": usual,
        "outside": len(samples) - len(sound),
        "dropouts": sum(
            [1 for index, good in enumerate(inside) if not good and (not index or inside[index - 1])]
        ),
        "holes": len([gap for gap in gaps if gap > GAP * usual]),
        "leaps": _leaps(sound, jump),
        "stops": _stops(sound, still, hold),
        "steps": step_response.steps(sound, least, still),
        "rests": _rests(sound, still),
    }


def _leaps(samples: "Samples", jump: float) -> "list[Leap]":
    """Movements away from every command of the last second: a mechanism only follows one of them."""
    found: list[Leap] = []
    for index in range(1, len(samples)):
        time, _, now = samples[index]
        before = samples[index - 1][2]
        if abs(now - before) <= jump:
            continue
        at = index
        away = True
        while away and at >= 0 and time - samples[at][0] <= LATELY:
            command = samples[at][1]
            away = abs(now - command) - abs(before - command) > jump
            at -= 1
        if away:
            found.append({"time": time, "change": now - before})
    return found


def _stops(samples: "Samples", still: float, hold: float) -> "list[Stop]":
    """Times without movement while the command is elsewhere the whole time."""
    found: list[Stop] = []
    start = -1  # where the standing began, -1 while it moves or is where it should be
    for index in range(len(samples) + 1):
        apart = index < len(samples) and abs(samples[index][2] - samples[index][1]) > APART
        if apart and start >= 0 and abs(samples[index][2] - samples[start][2]) < still:
            continue
        last = samples[index - 1]
        if start >= 0 and last[0] - samples[start][0] >= hold:
            found.append(
                {"start": samples[start][0], "end": last[0], "position": last[2], "command": last[1]}
            )
        start = index if apart else -1
    return found


def _rests(samples: "Samples", still: float) -> "Rows":
    """Command and position where both stood at the end of each held command."""
    found: Rows = []
    start = 0
    for index in range(1, len(samples) + 1):
        if index < len(samples) and abs(samples[index][1] - samples[start][1]) <= HELD:
            continue
        tail = samples[start:index][-max(2, (index - start) // 5) :]
        positions = [sample[2] for sample in tail]
        held = samples[index - 1][0] - samples[start][0]
        long = held >= REST and index - start >= step_response.FEWEST
        if long and max(positions) - min(positions) <= 2 * still:
            found.append([samples[start][1], sum(positions) / len(positions)])
        start = index
    return found
