"""The notebook: a request and the records it needs, to a page and new records. No storage, no network.

The same object answers in the phone's service worker and at the shop's desk; only the host differs.
"""

from typing import TYPE_CHECKING

from pwa.app import story
from pwa.app.contract import SHOP
from pwa.app.frame import again, damage, disputes, guard
from pwa.app.frame.notices import amount, notices
from pwa.app.record import authors, brought, chain, integrity, jobs, price_sheet, remains, seen
from pwa.app.routes import ROUTES
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from collections.abc import Callable

    from pwa.app.frame.disputes import Disputes
    from pwa.app.protocol import Answer, Content, Needs, Record, Request, Row
    from pwa.app.visit import Context, Screen

    Render = Callable[[str, Context], str]

# The list of jobs is made from these alone, so that it opens fast however much each job holds.
LIST_KINDS = ["job-opened", "job-closed"]
SHOP_KINDS = [
    "prices",
    "person",
    "set-aside",
]  # what every job needs of the shop, and what is set aside


class Notebook:
    """`content` is what the build compiled; `render(template, context)` is the host's Jinja2."""

    def __init__(self, content: "Content", render: "Render") -> None:
        self._content, self._render = content, render

    def needs(self, request: "Request") -> "Needs":
        """Which records `answer` must be given for this request."""
        _, params = _find(request)
        job = params.get("job", "")
        return {"job": job, "kinds": SHOP_KINDS if job else LIST_KINDS + SHOP_KINDS}

    def answer(self, request: "Request", rows: "list[Row]") -> "Answer":
        """The page for this request and the records it adds; a job with damaged rows is only read.

        A page that a record breaks is made without it, and says so; what is typed is not worked in then.
        A form is answered from what its page had seen, and replaces nothing else (record/seen.py).
        """
        counting, contradicted = brought.apart(rows)
        whole, damaged = integrity.sort_out(counting, request["device"])
        known = chain.in_order(whole)

        def made(records: "list[Record]") -> "tuple[Visit, Reply, str]":
            return self._made(request, rows, records, damaged, known, contradicted)

        visit, reply, body = guard.around(known, made) if request["method"] == "GET" else made(known)
        drafts = seen.allowed(reply["drafts"], visit.had["surely"])
        if reply["location"] and request["method"] == "POST":
            drafts = visit.authors.own(request["device"]) + drafts
        texts, device = chain.seal(
            drafts, request["device"], request["now"], request["random"], chain.newest(known)
        )
        location = request["base"] + reply["location"] if reply["location"] else ""
        about = visit.params.get("job", SHOP)
        there = [record for record in known if record["job"] == about]
        left, gone = remains.left_of(rows, reply["withdrawn"])
        return {
            "status": reply["status"],
            "location": disputes.after(location, there, visit.had["surely"], texts),
            "type": "text/html; charset=utf-8",
            "body": body,
            "records": texts,
            "device": device,
            "remains": left,
            "gone": gone,
        }

    def _made(
        self,
        request: "Request",
        rows: "list[Row]",
        records: "list[Record]",
        damaged: "list[Row]",
        known: "list[Record]",
        contradicted: "list[Record]",
    ) -> "tuple[Visit, Reply, str]":
        """What the screen says to these records, and its page; of those `known` some may be left out."""
        screen, params = _find(request)
        job_id = params.get("job", "")
        about = job_id or SHOP
        had = seen.of(_field(request), about, [record for record in records if record["job"] == about])
        of_job = had["records"]
        if not job_id:  # a page of no job is about the shop, and lists the jobs
            of_job = chain.in_order(of_job + [record for record in records if record["job"] != SHOP])
        job = jobs.fold(job_id, of_job)
        shop, names = price_sheet.sheet(records), authors.Authors(records)
        visit = Visit(request, self._content, params, of_job, job, shop, names, rows, had)
        lost = damage.by_job(damaged, job_id)
        kept = {record["id"] for record in records}
        out = [record for record in known if record["id"] not in kept]
        is_there = job["opened"] or not job["id"]
        reply = screen(visit) if is_there else damage.unopened(visit, bool(lost or out))
        if job_id and lost and reply["drafts"]:
            reply = damage.refuse(visit)
        if reply["drafts"]:
            reply = again.refused(visit, reply["drafts"]) or reply
        reply["context"]["damaged"] = lost
        of_files = [record for record in contradicted if record["job"] == job_id]
        reply["context"]["contradicted"] = [story.tell(record, visit) for record in of_files]
        reply["context"]["left_out"] = [story.tell(record, visit) for record in out]
        body = self._render(reply["template"], self._context(visit, reply)) if reply["template"] else ""
        return visit, reply, body

    def _context(self, visit: Visit, reply: Reply) -> "Context":
        request = visit.request
        context: Context = {
            "base": request["base"],
            "host": request["host"],
            "status": request["status"],
            "unsent": amount(request["status"]["unsent_notes"], request["status"]["unsent_photos"]),
            "path": request["path"],
            "stamp": {"token": request.get("token", ""), "seen": visit.had["text"]},
            "job": visit.job,
            "notices": notices(request),
            "disputes": _disputes(visit),
            "prices_disputed": len(visit.shop["standing"]) > 1,
        }
        context.update(reply["context"])
        return context


def _find(request: "Request") -> "tuple[Screen, dict[str, str]]":
    for method, pattern, screen in ROUTES:
        if method == request["method"]:
            params = match(pattern, request["path"])
            if params is not None:
                return screen, params
    return _no_such_page, {}


def _disputes(visit: Visit) -> "Disputes | None":
    """Those of the page's job, or on the page of the shop's prices those of the prices."""
    if visit.job["id"]:
        return disputes.of(visit, visit.job["conflicts"], visit.at("settle"))
    standing = visit.shop["standing"]
    if visit.request["path"] != price_sheet.PAGE or len(standing) < 2:
        return None
    return disputes.of(visit, [{"kind": "prices", "records": standing}], price_sheet.PAGE)


def _field(request: "Request") -> str:
    """What a form says that its page had seen; a page that is only read has seen all."""
    values = request["form"].get(seen.FIELD) if request["method"] == "POST" else None
    return values[-1] if values else ""  # a part of the page that was renewed says it after the page


def match(pattern: str, path: str) -> "dict[str, str] | None":
    """The named parts of a path: "/job/{job}/safe" against "/job/7/safe" gives {"job": "7"}."""
    wanted, given = pattern.split("/"), path.split("/")
    if len(wanted) != len(given):
        return None
    params = {}
    for part, value in zip(wanted, given):
        if part.startswith("{") and value:
            params[part[1:-1]] = value
        elif part != value:
            return None
    return params


def _no_such_page(visit: Visit) -> Reply:
    return page("frame/missing.html", {"what": "This page does not exist."}, status=404)
