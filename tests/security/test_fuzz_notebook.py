"""The notebook's own pages at the desk: each form is read as a browser reads it, then filled with
nonsense."""

import random
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from bs4 import BeautifulSoup

from pwa.app.notebook import ROUTES, Notebook
from server.desk.notebook import Pages
from tests.helpers.servers import Server, sign_in
from tests.helpers.trade import CONTENT
from tests.security.table import SAME
from tests.security.test_fuzz import PATIENCE, ROUNDS, SEED

VALUES = [
    "", " ", "0", "-1", "1e999", "nan", "12 V", "12,5 bar", "9" * 400, "٣", "²", "\0", "\ud800", "\U0001f527",
    "<script>alert(1)</script>", "{{ 7 * 7 }}", "../..", "x" * 5000, "1; 2, 3; 4\n5", "[[1,2],[3]]", "{",
    "null", "True", "'", "%s%n", "641/7", "P0299", "0" * 64, "2026-02-30",
]  # fmt: skip
# After so many forms the two pages that show all of it read back what was written. Records are only added,
# so one that a page cannot show is still there then; the message has the forms since the last look.
LOOK = 5
PATHS = sorted({route[1] for route in ROUTES})
NAMES = {
    f"{{{part}}}": [item["key"] for item in CONTENT[kind]]
    for part, kind in (("joint", "joints"), ("measure", "measures"), ("place", "fasteners"))
}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    folder: Path = tmp_path_factory.mktemp("notebook")
    running = Server(folder, folder, Notebook(CONTENT, Pages().render))
    with httpx.Client(base_url=running.url, headers=SAME, timeout=PATIENCE) as client:
        sign_in(running.shop, client)
        yield client
    running.stop()


@pytest.fixture(scope="module")
def job(desk: httpx.Client) -> str:
    opening = {"unit": "Truck 7", "complaint": "no power", "place": "bay", "drive": "electric"}
    found = re.fullmatch(r"/desk/job/([^/]+).*", desk.post("/desk/job/new", data=opening).headers["Location"])
    assert found
    return found[1]


def filled(path: str, job: str, chance: random.Random) -> str:
    """An address of the notebook with something real, or something else, for each of its parts."""
    path = path.replace("{job}", job if chance.random() < 0.95 else "nothing")
    for part in re.findall(r"{\w+}", path):
        real = NAMES.get(part, []) if chance.random() < 0.9 else []
        path = path.replace(part, chance.choice(real or ["nothing", "0", "a b", "%00", "é"]), 1)
    return path


def fields(page: str) -> list[str]:
    """The names of every field on a page."""
    found = BeautifulSoup(page, "html.parser").select("form [name]")
    return sorted({str(field["name"]) for field in found})


def form(names: list[str], page: str, chance: random.Random) -> list[tuple[str, str]]:
    """Some fields as the page offers them, some with nonsense, some twice, some not at all."""
    offered: dict[str, list[str]] = {}
    for field in BeautifulSoup(page, "html.parser").select("form [name]"):
        options = [str(option.get("value", "")) for option in field.select("option")]
        offered.setdefault(str(field["name"]), []).extend(options or [str(field.get("value") or "")])
    pairs = []
    for name in names:
        for _ in range(chance.choice([0, 1, 1, 1, 1, 2])):
            own = [value for value in offered[name] if value]
            value = chance.choice(own) if own and chance.random() < 0.5 else chance.choice(VALUES)
            pairs.append((name, value.encode(errors="surrogatepass").decode(errors="replace")))
    return pairs


@pytest.mark.parametrize("route", PATHS)
def test_no_form_of_the_notebook_fails_over_what_is_typed(desk, job, route):
    chance = random.Random(f"{SEED} {route}")
    since: list[tuple[str, list[tuple[str, str]]]] = []
    for number in range(1, ROUNDS + 1):
        path = "/desk" + filled(route, job, chance)
        page = desk.get(path)
        assert page.status_code < 500, path
        names = fields(page.text) or ["text", "outcome", "photo_sha256", "marks"]
        typed = form(names, page.text, chance) if fields(page.text) else [(chance.choice(names), "x")]
        body = "&".join(str(httpx.QueryParams([pair])) for pair in typed)
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        answer = desk.post(path, content=body, headers=kind)
        assert answer.status_code < 500, (path, typed)
        assert "alert(1)</script>" not in answer.text, (path, typed)
        since.append((path, typed))
        if number % LOOK == 0 or number == ROUNDS:
            assert desk.get("/desk/").status_code == 200, since
            assert desk.get(f"/desk/job/{job}").status_code == 200, since
            since.clear()
