"""What phone and server must agree on stands once: both sides' lists are held against pwa/app/contract.py."""

import re
from pathlib import Path

from pwa.app import contract
from pwa.app.notebook import match
from pwa.app.routes import ROUTES as NOTEBOOK
from pwa.build.build import agreed
from server.app import ROUTES

PHONE = Path(__file__).parent.parent / "pwa/phone"


def is_servers(path: str) -> bool:
    """As pwa/phone/worker.js."""
    return any(path == place or path.startswith(place + "/") for place in contract.SERVER)


def is_notebooks(path: str) -> bool:
    return any(match(pattern, path) is not None for _, pattern, _ in NOTEBOOK)


def test_every_address_of_the_server_is_its_own_or_the_notebooks() -> None:
    """One that is neither would be answered with 404 wherever the worker is."""
    for route in ROUTES:
        if route.path != "/{path:path}":  # the build's files, which the worker keeps
            assert is_servers(route.path) or is_notebooks(route.path), route.path


def test_no_address_of_the_notebook_is_kept_from_it() -> None:
    for _, pattern, _ in NOTEBOOK:
        assert not is_servers(pattern), pattern


def test_every_address_that_is_the_servers_is_routed_or_a_file() -> None:
    for place in contract.SERVER:
        is_routed = any(route.path == place or route.path.startswith(place + "/") for route in ROUTES)
        assert is_routed or place == contract.WORKER, place


def test_what_javascript_takes_of_the_contract_is_there() -> None:
    taken = set(re.findall(r"^  (\w+),$", (PHONE / "contract.js").read_text("utf-8"), re.M))
    typed = set(
        re.findall(r"^  (\w+):", (PHONE / "build.d.ts").read_text("utf-8").split("__CONTRACT__")[1], re.M)
    )
    assert taken and taken == typed
    assert taken <= set(agreed())


def test_the_desk_takes_whatever_a_phone_takes() -> None:
    for what, most in contract.PHONE_TAKES.items():
        assert contract.DESK_TAKES[what] >= most, what


def test_the_server_takes_whatever_a_phone_sends_at_once() -> None:
    assert contract.SENT_RECORDS <= contract.TAKEN_RECORDS


def test_a_page_names_the_files_as_they_are_made() -> None:
    for path in (PHONE.parent / "templates").rglob("*.html"):
        for name in re.findall(r"layby-\w+\.zip", path.read_text("utf-8")):
            assert name in (contract.FILE_OF_ALL, contract.FILE_OF_JOB), f"{path}: {name}"
