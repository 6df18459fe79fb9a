"""Whatever stands in a form, the page after it is one of the notebook."""

import hashlib
import re
from typing import Any

import pytest

from pwa.app.visit import is_place, save
from tests.app.kinds.test_pages import pages
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all

OUTSIDE = [
    "../../elsewhere", "//elsewhere.example", "https://elsewhere.example/", "/\\elsewhere.example", "a/../..",
    "%2e%2e/x", "?x=/", "#x", "x\r\nSet-Cookie: a=b", "é",
]  # fmt: skip
INSIDE = re.compile(r"(/[A-Za-z0-9_-]+)+(\?[a-z-]+=[A-Za-z0-9_-]*)?|/")


@pytest.mark.parametrize("place", ["/", "/phone", "/job/0a-7/joint/turbine", "/job/1/isolate?moved=sweep"])
def test_an_address_of_the_notebook_is_kept(place):
    assert save([], place)["location"] == place


@pytest.mark.parametrize(
    "place", ["", *OUTSIDE, "//", "/job//x", "/job/", *("/job/1/" + text for text in OUTSIDE)]
)
def test_any_other_leads_to_the_jobs(place):
    assert not is_place(place)
    assert save([], place)["location"] == "/"


def ask(phone: Desk, path: str, form: dict[str, str]) -> Any:
    given = {name: [value] for name, value in form.items()}
    request: Any = {
        "method": "POST", "path": path, "query": {}, "form": given,
        "now": phone.now, "zone": 0, "random": hashlib.shake_256(path.encode()).hexdigest(2048),
        "host": "phone", "base": "", "device": phone.device, "status": phone.known,
    }  # fmt: skip
    needs = phone.notebook.needs(request)
    rows = [row for row in phone.rows if row["job"] == needs["job"] or row["kind"] in needs["kinds"]]
    return phone.notebook.answer(request, rows)


def typed(form: Any) -> dict[str, str]:
    """The fields of a form, filled in so that it is accepted, if words and a number are enough for that."""
    fields = {}
    for field in form.select("[name]"):
        keypad = field.get("inputmode") in ("decimal", "text")
        fields.setdefault(field["name"], field.get("value") or ("3" if keypad else "words"))
    return {**fields, "photo_sha256": "b" * 64, "photo_size": "7", "photo_type": "image/jpeg"}


def test_no_field_of_any_form_leads_out_of_the_notebook():
    phone = Desk(CONTENT)
    job = phone.open_job()
    accept_all(phone, job)
    forms = {
        form["action"]: form for path in pages(job) for form in phone.get(path).select("form[method=post]")
    }
    led = 0
    for action, form in forms.items():
        whole = typed(form)
        changed = [whole, dict.fromkeys(whole, OUTSIDE[0])]
        changed += [{**whole, name: text} for name in [*whole, "no_room"] for text in OUTSIDE[:2]]
        for fields in changed:
            answer = ask(phone, action, fields)
            assert answer["status"] < 500, (action, fields)
            if answer["status"] == 303:
                led += 1
                assert INSIDE.fullmatch(answer["location"]), (action, fields, answer["location"])
    assert led > len(forms)


def test_a_photo_that_did_not_fit_leads_back_to_its_joint_and_nowhere_else():
    phone = Desk(CONTENT)
    job = phone.open_job()
    joint = CONTENT["joints"][0]["key"]
    for given, lost, place in [
        (joint, "a" * 64, f"{job}/joint/{joint}?no-room={'a' * 64}"),
        ("", "a" * 64, f"{job}/note?no-room={'a' * 64}"),
        ("../../..", "//elsewhere.example", f"{job}/note?no-room=yes"),
        (joint, "../..", f"{job}/joint/{joint}?no-room=yes"),
    ]:
        answer = ask(phone, f"{job}/photo", {"joint": given, "no_room": lost})
        assert (answer["status"], answer["location"], answer["records"]) == (303, place, [])
    kept = {"photo_sha256": "b" * 64, "photo_width": "9", "width": "9", "photo_size": "7"}
    for then in (*OUTSIDE, "/phone", job + "x", job + "/../..", "/job/other/timeline"):
        assert ask(phone, f"{job}/photo", {**kept, "then": then})["location"] == f"{job}/timeline"
    assert ask(phone, f"{job}/photo", {**kept, "then": job})["location"] == job
    assert ask(phone, f"{job}/photo", {"photo_sha256": "../x"})["status"] == 422
