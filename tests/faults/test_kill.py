"""SIGKILL at random moments, see kill.py; `python -m tests.faults.kill` does it thousands of times."""

from collections.abc import Callable
from pathlib import Path

from tests.faults import kill
from tests.faults.forked import Forge


def test_a_server_killed_at_any_moment_loses_nothing_it_acknowledged(
    forge: Forge, tmp_path: Path, rounds: Callable[[int, str], int]
) -> None:
    told = kill.run(forge, tmp_path, rounds=rounds(40, "kills of the server"), seed=1)
    assert told.in_flight > told.rounds / 2, told
    assert told.records > told.rounds, told
    assert told.photos > told.rounds / 10, told
