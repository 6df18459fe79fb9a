"""No page of another site writes on a phone, in any of the three engines; the phone's own forms pass."""

import json
from collections.abc import Iterator

import pytest

from tests.helpers.servers import Server
from tests.phone.engines import DUMP, Chromium, Engine, Step, engine, engines, on, seen
from tests.security.hostile import Hostile

__all__ = ["engine", "engines"]

REFUSED = "This form did not come from Layby. Nothing was written."
WAYS = ["form", "multipart", "plain", "silent", "honest", "hop"]
TOKENS = ["", "undefined", "null", "0" * 64]

# As without a script: the browser itself sends the form, and opens the answer.
NATIVE = """(() => {
  const form = [...document.forms].find((form) => form.getAttribute("action") === "/job/new");
  form.elements.unit.value = "Truck 12";
  form.elements.complaint.value = "no power";
  for (const [name, value] of [["place", "bay"], ["drive", "electric"]])
    form.querySelector(`[name=${name}][value=${value}]`).checked = true;
  HTMLFormElement.prototype.submit.call(form);
})()"""
# The same by a script of ours on a page that an earlier version made, whose forms had no token.
STALE = """(() => {
  const body = new URLSearchParams({ name: "An older page" });
  const asked = fetch("/phone/name", { method: "POST", body });
  asked.then((answer) => (document.title = `answered ${answer.url}`));
})()"""


@pytest.fixture
def hostile() -> Iterator[Hostile]:
    site = Hostile()
    yield site
    site.stop()


def test_no_form_of_another_site_writes_and_the_phones_own_pass(
    engine: Engine, server: Server, hostile: Hostile
) -> None:
    app = server.url
    look = {"open": f"{app}/rescue.html", "until": on("/rescue.html"), "tell": DUMP}
    own = [
        {"open": f"{app}/job/new", "until": on("/job/new"), "tell": "1"},
        {"run": NATIVE, "until": seen("Make safe") + " && location.pathname", "tell": "location.pathname"},
    ]
    *_, job, before = engine.tour([*own, look])
    fields = {"unit": "Bad", "complaint": "bad", "place": "bay", "drive": "electric", "name": "Bad",
              "text": "bad", "code": "bad", "rate": "1", "currency": "X", "accept": "yes"}  # fmt: skip
    paths = ["/job/new", "/phone/name", "/phone/free", "/prices", f"{job}/note", "/files"]
    steps: list[Step] = []
    for number, way in enumerate(WAYS * 2):  # each from both origins, and each path and token at least twice
        turn = number + number // len(WAYS)
        origin, path = hostile.origins[turn % 2], paths[turn % len(paths)]
        given = {**fields, "layby-token": TOKENS[number % len(TOKENS)]}
        page = hostile.page(origin, app, way, [path], given)
        steps.append(
            {
                "open": page,
                "until": f"location.origin === '{app}' && {seen(REFUSED)}",
                "tell": "location.pathname",
            }
        )
    for origin in hostile.origins:
        page = hostile.page(origin, app, "aside", paths, fields)
        steps.append({"open": page, "until": "document.title === 'done'", "tell": "1"})
    *_, after = engine.tour([*steps, look])
    assert json.loads(after) == json.loads(before)

    stale = {"open": f"{app}/phone", "until": on("/phone"), "tell": "1"}
    renamed = {"run": STALE, "until": "document.title.startsWith('answered')", "tell": "document.title"}
    *_, last = engine.tour([stale, renamed, look])
    facts = json.loads(last)
    device = facts["facts getAll"][facts["facts getAllKeys"].index("device")]
    assert device["name"] == "An older page"


def test_no_address_that_another_site_opens_writes(engine: Engine, server: Server, hostile: Hostile) -> None:
    app = server.url
    look = {"open": f"{app}/rescue.html", "until": on("/rescue.html"), "tell": DUMP}
    [before] = engine.tour([look])
    paths = ["/phone/free", "/phone/retry", "/phone/name?name=Bad", "/job/new?unit=Bad&complaint=bad",
             "/files", "/files/all", "/phone#code=AAAA-AAAA", "/photo/" + "0" * 64]  # fmt: skip
    steps = [
        {
            "open": hostile.page(origin, app, "aside", paths, {}),
            "until": "document.title === 'done'",
            "tell": "1",
        }
        for origin in hostile.origins
    ]
    # A download opens no page. What the worker makes of a path is the same in all engines, so the two
    # others go to each path from one of the origins only.
    opened = [path for path in paths if path != "/files/all"]
    steps += [
        {
            "open": hostile.page(origin, app, "link", [path], {}),
            "until": f"location.origin === '{app}'",
            "tell": "1",
        }
        for turn, origin in enumerate(hostile.origins)
        for number, path in enumerate(opened)
        if isinstance(engine, Chromium) or number % 2 == turn
    ]
    *_, after = engine.tour([*steps, look])
    told, was = (
        {name: found for name, found in json.loads(text).items() if "facts" not in name}
        for text in (after, before)
    )
    assert told == was
