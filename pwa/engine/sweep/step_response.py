"""Steps of the command in a sampled trace: dead time, T63, T86, overshoot.

Terms follow ANSI/ISA-75.25.01; their wording is from memory. Dead time runs from the step to the first
travel that can be told; T63 and T86, which include it, to 1 - 1/e and 1 - 1/e² of the final change. For a
first-order follower with dead time, T63 is dead time + τ and T86 dead time + 2 τ.
"""

import math
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    Samples = list[list[float]]

HELD = 1.0  # % that a command may wander and still be held
FEWEST = 5  # samples of a held command, without which there is no response to see
LEVEL_63, LEVEL_86 = 1 - math.exp(-1), 1 - math.exp(-2)


class Step(TypedDict):
    """Times in s from the step's first sample; None where the position never came so far."""

    time: float
    start: float  # command before
    end: float
    change: float  # what the position made of it in the end, %
    rest: float  # position in the end
    dead_time: "float | None"
    t63: "float | None"
    t86: "float | None"
    overshoot: float  # % of the change
    settled: bool
    interval: float  # s between samples here: no time above is surer than that


def steps(samples: "Samples", least: float, still: float) -> "list[Step]":
    """Every step of at least `least` % after which the command is held for five samples.

    `samples` are [time in s, command, position in %]; a movement below `still` % is none.
    """
    found: list[Step] = []
    for index in range(1, len(samples)):
        if abs(samples[index][1] - samples[index - 1][1]) < least:
            continue
        end = index
        while end < len(samples) and abs(samples[end][1] - samples[index][1]) <= HELD:
            end += 1
        if end - index >= FEWEST:
            found.append(_step(samples[index - 1], samples[index:end], still))
    return found


def _step(before: "list[float]", held: "Samples", still: float) -> Step:
    began, origin = held[0][0], before[2]
    tail = [sample[2] for sample in held[-max(2, len(held) // 5) :]]
    rest = sum(tail) / len(tail)
    change = rest - origin
    moved = abs(change) >= 2 * still
    direction = 1 if change >= 0 else -1
    track = [[before[0], origin]] + [[sample[0], sample[2]] for sample in held]
    return {
        "time": began,
        "start": before[1],
        "end": held[0][1],
        "change": change,
        "rest": rest,
        "dead_time": _reached(track, began, origin + direction * still, direction) if moved else None,
        "t63": _reached(track, began, origin + LEVEL_63 * change, direction) if moved else None,
        "t86": _reached(track, began, origin + LEVEL_86 * change, direction) if moved else None,
        "overshoot": _overshoot(held, rest, change, direction) if moved else 0.0,
        "settled": max(tail) - min(tail) <= max(2 * still, 0.04 * abs(change)),
        "interval": held[-1][0] / (len(held) - 1) - began / (len(held) - 1),
    }


def _reached(track: "list[list[float]]", began: float, level: float, direction: int) -> "float | None":
    """Seconds from `began` until the position is at a level, on the line between two samples."""
    for (t1, p1), (t2, p2) in zip(track, track[1:]):
        if direction * (p2 - level) >= 0:
            share = 0.0 if p2 == p1 else (level - p1) / (p2 - p1)
            return max(0.0, t1 + min(1.0, max(0.0, share)) * (t2 - t1) - began)
    return None


def _overshoot(held: "Samples", rest: float, change: float, direction: int) -> float:
    peak = max([direction * sample[2] for sample in held])
    return max(0.0, 100 * (peak - direction * rest) / abs(change))
