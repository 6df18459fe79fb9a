"""A notebook for tests: the real screens, real templates, small or real content, records in a list.

Every request is answered on CPython with Jinja2 and again on MicroPython with the compiled templates, as
on a phone; the two must agree to the byte.
"""

import hashlib
import json
from typing import Any, cast

from bs4 import BeautifulSoup

from pwa import templates
from pwa.app.kinds import check
from pwa.app.notebook import Notebook
from pwa.app.record import chain
from server.desk import steps
from tests.helpers.twin import MicroPython, crossing, equal


class Phone:
    """One MicroPython for all tests, started with the content of whoever asks next."""

    def __init__(self) -> None:
        self._micropython: MicroPython | None = None
        self._content: dict[str, Any] | None = None

    def answer(self, content: dict[str, Any], request: str, records: str) -> dict[str, Any]:
        if self._micropython is None:
            self._micropython = MicroPython()
        if self._content is not content:
            self._call("start", json.dumps(content))
            self._content = content
        answer: dict[str, Any] = json.loads(self._call("answer", request, records))
        return answer

    def _call(self, name: str, *args: str) -> str:
        assert self._micropython
        said = self._micropython.call(module="pwa.phone.host", name=name, call=True, args=args, kwargs={})
        assert "value" in said, f"MicroPython: {said}"
        return str(said["value"])


PHONE = Phone()
JINJA = templates.environment()  # one for all, since it compiles each template once
TOKEN = "0123456789abcdef" * 4  # of every phone here


class Desk:
    """One writer with a notebook of its own; `get` and `post` answer like a browser would see it."""

    def __init__(self, content: dict[str, Any], host: str = "phone", name: str = "Bay 2 phone") -> None:
        self.content = content
        self.notebook = Notebook(
            cast("Any", content), lambda name, context: JINJA.get_template(name).render(context)
        )
        self.host, self.base = host, "" if host == "phone" else "/desk"
        self.device = {
            "id": f"device-{name.replace(' ', '-')}",
            "name": name,
            "seq": 0,
            "head": "",
            "clock": "",
        }
        self.texts: list[str] = []
        self.damage: dict[int, dict[str, Any]] = {}  # what stands in a row instead, by its place in `texts`
        self.now = 1_764_065_263_000
        self.status = 0
        # What its host says of itself.
        self.known: dict[str, Any] = {"unsent_notes": 0, "unsent_photos": 0}
        if host == "desk":
            self.known = dict(steps.NOTHING_TO_SEND)
        self.location = ""

    @property
    def rows(self) -> list[Any]:
        return [{**chain.row(text), **self.damage.get(n, {})} for n, text in enumerate(self.texts)]

    @property
    def records(self) -> list[dict[str, Any]]:
        return [json.loads(text) for text in self.texts]

    def of_kind(self, kind: str) -> list[dict[str, Any]]:
        """The data of this writer's records of one kind, oldest first."""
        return [record["data"] for record in self.records if record["kind"] == kind]

    def get(self, path: str) -> BeautifulSoup:
        path, _, query = path.partition("?")
        asked = dict(part.split("=") for part in query.split("&")) if query else {}
        return self._ask("GET", path, {}, asked)

    def post(self, path: str, **form: str | list[str]) -> BeautifulSoup:
        """Post a form; a redirect is followed, as a browser does."""
        return self._ask("POST", path, form, {})

    def open_job(self, **fields: str) -> str:
        """Start a job and return its path."""
        given = {
            "unit": "Truck 7",
            "complaint": "no power uphill",
            "place": "bay",
            "drive": "electric",
            **fields,
        }
        self.post("/job/new", **given)
        return self.location

    def _ask(self, method: str, path: str, form: dict[str, Any], query: dict[str, str]) -> BeautifulSoup:
        self.now += 1000
        as_lists = {key: value if isinstance(value, list) else [value] for key, value in form.items()}
        seed = f"{self.device['id']} {self.now}"
        request: Any = {
            "method": method,
            "path": path,
            "query": {key: [value] for key, value in query.items()},
            "form": as_lists,
            "now": self.now,
            "zone": 0,
            "random": hashlib.shake_256(seed.encode()).hexdigest(4096),
            "host": self.host,
            "base": self.base,
            "device": self.device,
            "status": self.known,
            **({"token": TOKEN} if self.host == "phone" else {}),
        }
        needs = self.notebook.needs(request)
        given = [row for row in self.rows if row["job"] == needs["job"] or row["kind"] in needs["kinds"]]
        answer = self.notebook.answer(request, given)
        self._compare(answer, PHONE.answer(self.content, crossing(request), crossing(given)))
        for text in answer["records"]:
            record = json.loads(text)
            assert check.problems(record["kind"], record["data"]) == [], record
        left = {json.loads(text)["id"]: text for text in answer["remains"]}
        self.texts = [left.get(json.loads(text)["id"], text) for text in self.texts] if left else self.texts
        self.texts += answer["records"]
        self.device, self.status = dict(answer["device"]), answer["status"]
        if answer["location"]:
            self.location = answer["location"]
            return self.get(answer["location"][len(self.base) :])
        return BeautifulSoup(answer["body"], "html.parser")

    @staticmethod
    def _compare(here: Any, there: dict[str, Any]) -> None:
        """The phone's answer must be the desk's: the page to the byte, the records in all they say."""
        assert there["body"] == here["body"]
        assert (there["status"], there["location"]) == (here["status"], here["location"])
        said = [[_said(text) for text in answer["records"]] for answer in (here, there)]
        assert equal(*said), f"CPython writes {said[0]}, MicroPython {said[1]}"


def _said(text: str) -> dict[str, Any]:
    """A record without the hash of the one before it: key order may differ, so texts and hashes do."""
    return {key: value for key, value in json.loads(text).items() if key != "prev"}
