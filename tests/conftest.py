"""Fixtures that every folder of tests shares."""

from collections.abc import Callable, Iterator

import pytest

from tests.helpers.browsers import browser, dist, new_browser, playwright, port, server, template
from tests.helpers.twin import MicroPython, Twin

# Defined once for all folders: a second copy would start the browsers' driver twice.
__all__ = [
    "browser",
    "dist",
    "micropython",
    "new_browser",
    "playwright",
    "port",
    "server",
    "template",
    "twin",
]


@pytest.fixture(scope="session")
def micropython() -> Iterator[MicroPython]:
    interpreter = MicroPython()
    yield interpreter
    interpreter.close()


@pytest.fixture(scope="session")
def twin(micropython: MicroPython) -> Callable[[str], Twin]:
    """`twin("pwa.engine.codes.dtc")`: that module on CPython and MicroPython at once."""
    return lambda module: Twin(micropython, module)
