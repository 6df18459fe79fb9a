"""Fixtures that every folder of tests shares."""

from collections.abc import Callable, Iterator

import pytest
from hypothesis import settings

from tests.helpers.browsers import (
    alone,
    browser,
    dist,
    firefox_profile,
    new_browser,
    new_firefox,
    playwright,
    port,
    server,
    standing,
    template,
)
from tests.helpers.twin import MicroPython, Twin

settings.register_profile("layby", deadline=None)  # timings never fail a test
settings.load_profile("layby")

# Where all run these come first: they are long and wait the most, and many short ones fill what is left.
LONGEST = ("server/deploy", "wheel", "phone", "faults", "demo")

Rounds = Callable[[int, str], int]

# Defined once for all folders: a second copy would start the browsers' driver twice.
__all__ = [
    "alone",
    "browser",
    "dist",
    "firefox_profile",
    "micropython",
    "new_browser",
    "new_firefox",
    "playwright",
    "port",
    "server",
    "standing",
    "template",
    "twin",
]


def pytest_addoption(parser: pytest.Parser) -> None:
    said = "play this many times the daily number of fault rounds (servers and browsers killed)"
    parser.addoption("--rounds", type=int, default=1, metavar="TIMES", help=said)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files stay whole and in their order, but for the longest, which come first.

    What needs Firefox is one more such group, for the first start of its phone is the dearest of all.
    """

    def rank(item: pytest.Item) -> int:
        path = item.path.as_posix()
        found = [n for n, name in enumerate(LONGEST) if f"/tests/{name}/" in path]
        return found[0] if found else len(LONGEST)

    items.sort(key=rank)
    for item in items:
        needs = getattr(item, "fixturenames", ())
        is_firefox = "[firefox]" in item.nodeid or "new_firefox" in needs
        item.add_marker(pytest.mark.xdist_group("firefox" if is_firefox else item.path.as_posix()))


@pytest.fixture
def rounds(request: pytest.FixtureRequest, record_property: Callable[[str, object], None]) -> Rounds:
    """`rounds(40, "kills of the server")`: how many to play now; the end of the run says so too."""

    def now(daily: int, what: str) -> int:
        count = daily * int(request.config.getoption("--rounds"))
        record_property("rounds", f"{count} {what}")
        return count

    return now


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    reports = [item for kind in ("passed", "failed") for item in terminalreporter.stats.get(kind, [])]
    played = [what for item in reports for name, what in item.user_properties if name == "rounds"]
    if played:
        terminalreporter.write_line(f"Rounds played: {', '.join(sorted(played))}; --rounds plays more.")


@pytest.fixture(scope="session")
def micropython() -> Iterator[MicroPython]:
    interpreter = MicroPython()
    yield interpreter
    interpreter.close()


@pytest.fixture(scope="session")
def twin(micropython: MicroPython) -> Callable[[str], Twin]:
    """`twin("pwa.engine.codes.dtc")`: that module on CPython and MicroPython at once."""
    return lambda module: Twin(micropython, module)
