"""Servers that can be killed, and phones around them."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.forked import Forge, Forked


@pytest.fixture(scope="session")
def forge() -> Iterator[Forge]:
    forge = Forge()
    yield forge
    forge.close()


@pytest.fixture
def forked(forge: Forge, tmp_path: Path) -> Iterator[Forked]:
    server = Forked(forge, tmp_path)
    yield server
    server.kill()
