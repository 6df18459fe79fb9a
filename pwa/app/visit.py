"""One request on its way to a page: what a screen gets, and the two things it can give back."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import closing, when

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from pwa.app.protocol import Content, Draft, Form, Record, Request, Row
    from pwa.app.record.authors import Authors
    from pwa.app.record.jobs import Job
    from pwa.app.record.price_sheet import Sheet
    from pwa.app.record.seen import Seen

    Context = dict[str, Any]  # what a template is given, by name; each template is its own reader
    Screen = Callable[["Visit"], "Reply"]
    Route = tuple[str, str, Screen]


class Reply(TypedDict):
    """A page to show (`template` and `context`), or `drafts` to save and a `location` to go to."""

    status: int
    template: str
    context: "Context"
    drafts: "list[Draft]"
    location: str
    withdrawn: "list[str]"  # ids of records whose content goes with the drafts


def page(template: str, context: "Context | None" = None, status: int = 200) -> Reply:
    return {
        "status": status,
        "template": template,
        "context": context or {},
        "drafts": [],
        "location": "",
        "withdrawn": [],
    }


# All that an address of the notebook is made of: no dot that leads up, no % that hides one, no other host.
PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_"
START = "/"  # the list of jobs


def is_place(location: str) -> bool:
    """Whether it is an address within the notebook; what was typed may stand in it, and may be anything."""
    path, _, query = location.partition("?")
    names = [] if path == START else path.split("/")[1:]
    return (
        path.startswith(START)
        and all(name and all(letter in PLAIN for letter in name) for name in names)
        and all(letter in PLAIN + "=" for letter in query)
    )


def save(drafts: "list[Draft]", location: str, withdrawn: "list[str] | None" = None) -> Reply:
    """Save the drafts together, then go to `location` (a path without the host's prefix).

    If that leads out of the notebook, the drafts count all the same, and the list of jobs follows.
    """
    return {
        "status": 303,
        "template": "",
        "context": {},
        "drafts": drafts,
        "location": location if is_place(location) else START,
        "withdrawn": withdrawn or [],
    }


class Visit:
    """A request with what it is about. `records` are the job's, each once, in the agreed order, for a form
    those that its page showed; `had` says which that were (record/seen.py). `shop` is the shop's price sheet,
    `authors` the names of those who write.
    """

    def __init__(
        self,
        request: "Request",
        content: "Content",
        params: "dict[str, str]",
        records: "list[Record]",
        job: "Job",
        shop: "Sheet",
        authors: "Authors",
        rows: "list[Row]",
        had: "Seen",
    ) -> None:
        self.request, self.content, self.params = request, content, params
        self.records, self.job, self.shop, self.authors = records, job, shop, authors
        self._rows, self.had = rows, had
        self._suspects: set[str] | None = None
        self._late: set[str] | None = None
        self._links: tuple[dict[str, Record], dict[str, list[Record]]] | None = None

    def is_suspect(self, record: "Record") -> bool:
        """Whether the clock that this record of the job was written by was wrong."""
        if self._suspects is None:
            self._suspects = set(when.suspects(self.records, self.request["now"]))
        return record["id"] in self._suspects

    def author(self, record: "Record") -> str:
        """Who wrote a record, as pages say it."""
        return self.authors.author(record)

    def raw(self, record: "Record") -> str:
        """A record's text as it is stored."""
        return "".join([row["text"] for row in self._rows if row["id"] == record["id"]][:1])

    def is_late(self, record: "Record") -> bool:
        """Whether the job was closed without knowing this record of it."""
        if self._late is None:
            self._late = set(closing.late(self.job, self.records)) if self.job["id"] else set()
        return record["id"] in self._late

    def replaced_by(self, record: "Record") -> "list[Record]":
        """The records of the job that this one replaced."""
        by_id, _ = self._linked()
        return [
            by_id[old] for old in record["replaces"] if old in by_id and by_id[old]["job"] == record["job"]
        ]

    def replacing(self, record: "Record") -> "list[Record]":
        """The records of the job that replaced this one."""
        _, replacing = self._linked()
        return replacing.get(record["id"], [])

    def _linked(self) -> "tuple[dict[str, Record], dict[str, list[Record]]]":
        if self._links is None:
            by_id = {record["id"]: record for record in self.records}
            replacing: dict[str, list[Record]] = {}
            for record in self.records:
                for old in record["replaces"]:
                    replacing.setdefault(old, []).append(record)
            self._links = by_id, replacing
        return self._links

    def field(self, name: str) -> str:
        """The first value of a form field without surrounding space, "" when it is missing."""
        values = self.request["form"].get(name)
        return values[0].strip() if values else ""

    def whole(self, name: str) -> int:
        """A form field as a whole number, 0 when it holds none."""
        typed = self.field(name)
        return int(typed) if typed.isdigit() else 0

    def fields(self, name: str) -> "list[str]":
        return self.request["form"].get(name) or []

    def asked(self, name: str) -> str:
        """As `field`, of the query after the question mark."""
        values = self.request["query"].get(name)
        return values[0].strip() if values else ""

    def form_values(self) -> "dict[str, str]":
        """What was typed, to be shown again beside an error."""
        form: Form = self.request["form"]
        return {name: values[0] for name, values in form.items() if values}

    def at(self, *parts: str) -> str:
        """A path inside this job: `at("safe")` is "/job/ID/safe"."""
        return "/".join(("/job", self.job["id"]) + parts)
