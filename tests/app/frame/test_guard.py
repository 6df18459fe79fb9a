"""A page that one record takes down is made without it; what is a defect of the code itself is not hidden."""

from typing import Any, cast

import pytest
from bs4 import BeautifulSoup

from pwa.app.frame import guard
from pwa.app.notebook import Notebook
from tests.helpers.notebooks import JINJA, Desk
from tests.helpers.trade import CONTENT

NOW = 1_764_065_263_000


class Failing(Exception):
    """Raised by what a page is made with."""


def record(id: str, kind: str = "note", **data: Any) -> Any:
    return {"id": id, "kind": kind, "data": data}


def taken_down_by(*bad: str) -> Any:
    """What makes of records their ids, unless one of these is among them."""

    def make(records: list[Any]) -> list[str]:
        ids = [item["id"] for item in records]
        if set(bad) & set(ids):
            raise Failing(bad)
        return ids

    return make


KNOWN = [
    record("opening", "job-opened", drive="steam"),
    *[record(f"n{n}") for n in range(9)],
    record("p", "photo"),
]


@pytest.mark.parametrize("bad", [["n0"], ["n8"], ["p"], ["opening"]])
def test_the_one_record_is_left_out_and_no_other(bad: list[str]) -> None:
    made: Any = (
        guard.around(KNOWN, taken_down_by(*bad)) if bad != ["opening"] else guard.around(KNOWN, _drive)
    )
    assert made == [item["id"] for item in KNOWN if item["id"] not in bad]


def _drive(records: list[Any]) -> list[str]:
    if any(item["kind"] == "job-opened" and item["data"]["drive"] == "steam" for item in records):
        raise Failing("steam")
    return [item["id"] for item in records]


def test_two_of_one_kind_do_not_take_the_other_kinds_along() -> None:
    made: Any = guard.around(KNOWN, taken_down_by("n1", "n7"))
    assert {"opening", "p"} <= set(made)


def always(records: list[Any]) -> None:
    raise Failing


def with_any_opening(records: list[Any]) -> None:
    """As a screen that is wrong: without an opening no screen is asked."""
    if any(item["kind"] == "job-opened" for item in records):
        raise Failing


@pytest.mark.parametrize("make", [always, with_any_opening])
def test_a_defect_of_the_code_is_not_blamed_on_a_record(make: Any) -> None:
    with pytest.raises(Failing):
        guard.around(KNOWN, make)


def test_the_page_says_which_entry_it_was_made_without() -> None:
    phone = Desk(CONTENT)
    job = phone.open_job()
    for text in ("Heard a whistle", "takes it down", "Pipe is split"):
        phone.post(f"{job}/note", text=text)

    def render(name: str, context: Any) -> str:
        body = JINJA.get_template(name).render(context)
        if "takes it down" in str(context.get("entries")):
            raise Failing(name)
        return body

    request: Any = {
        "method": "GET", "path": f"{job}/timeline", "query": {}, "form": {}, "now": NOW, "zone": 0,
        "random": "0" * 64, "host": "phone", "base": "", "device": phone.device, "status": phone.known,
    }  # fmt: skip
    answer = Notebook(cast("Any", CONTENT), render).answer(request, phone.rows)
    assert answer["status"] == 200
    page = BeautifulSoup(answer["body"], "html.parser")
    out = [section.get_text(" ", strip=True) for section in page.select("section.verdict.bad")]
    assert len(out) == 1 and out[0].startswith("An entry broke this page") and "takes it down" in out[0]
    story = page.get_text(" ").replace(out[0], "")
    assert "Heard a whistle" in story and "Pipe is split" in story
    assert page.get_text(" ").count("takes it down") == 1
