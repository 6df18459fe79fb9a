"""The commands read what the build wrote: here the session's own build."""

from pathlib import Path

import pytest

from server import settings


@pytest.fixture(autouse=True)
def built(dist: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settings, "DIST", dist)
