"""No record that counts breaks a page: least and most of what each kind may hold, beside a whole job.

Keys are real where content has them, for most of what a page does with a record hangs on them.
"""

import pytest

from pwa.app.kinds import shape
from pwa.app.kinds.table import KINDS
from pwa.app.record import chain
from pwa.app.routes import ROUTES
from tests.helpers.notebooks import Desk
from tests.helpers.samples import sample
from tests.helpers.trade import CONTENT, accept_all

SHA256 = "a" * 64
KEYS = {
    "finding": [item["key"] for item in CONTENT["findings"]][:2],
    "measure": [item["key"] for item in CONTENT["measures"]],
    "joint": [item["key"] for item in CONTENT["joints"]],
    "cause": [item["key"] for item in CONTENT["causes"] if item["upstream"]][:2],
    "place": [item["key"] for item in CONTENT["fasteners"]][:2],
    "proof": [item["key"] for item in CONTENT["proofs"]],
    "repair": [item["key"] for item in CONTENT["repairs"]][:2],
    "moment": ["before", "after", "open-stop", "closed-stop"],
}


@pytest.fixture(scope="module")
def begun():
    """The texts of a job with its cautions accepted, its path, and its writer."""
    phone = Desk(CONTENT)
    job = phone.open_job()
    accept_all(phone, job)
    return phone, job


def pages(job):
    """Every page of a job, with real keys, and the pages of the whole shop."""
    found = []
    for method, pattern, _ in ROUTES:
        if method == "GET":
            path = pattern.replace("/job/{job}", job).replace("{photo}", SHA256).replace("{moment}", "after")
            for name in ("joint", "measure", "place"):
                if "{" + name + "}" in path:
                    found += [path.replace("{" + name + "}", key) for key in KEYS[name]]
                    break
            else:
                found.append(path)
    return found


def filled(kind, how, at):
    data = sample(kind.fields, how != "least")
    for field in kind.fields:
        if how == "odd" and isinstance(field.type, shape.Choice):
            data[field.name] = "words"  # of a newer version, perhaps
    for name, keys in KEYS.items():
        if name in data and (kind.name, name) not in (("here", "place"), ("job-opened", "place")):
            data[name] = keys[at % len(keys)]
    for name in ("sha256", "photo"):
        if name in data:
            data[name] = SHA256
    return data


def ask(phone, path, texts):
    request = {
        "method": "GET", "path": path, "query": {}, "form": {}, "now": phone.now, "zone": 0,
        "random": "0" * 4096,
        "host": "phone", "base": "", "device": phone.device, "status": phone.known,
    }  # fmt: skip
    return phone.notebook.answer(request, [chain.row(text) for text in texts])


@pytest.mark.parametrize("how", ["least", "most", "odd"])
@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_every_page_opens_beside_a_record_of_each_kind(begun, kind, how):
    phone, job = begun
    drafts = []
    for at in range(max(len(KEYS["joint"]), 4) if kind.section == "with the joint" or kind.photo else 2):
        draft = {"job": job[5:], "kind": kind.name, "data": filled(kind, how, at), "replaces": []}
        if kind.name == "marks":
            photo = sample(KINDS["photo"].fields, True)
            photo.update(
                sha256=SHA256, joint=draft["data"]["joint"], moment=draft["data"]["moment"], width=900
            )
            drafts.append({"job": job[5:], "kind": "photo", "data": photo, "replaces": []})
        drafts.append(draft)
    random = "0123456789abcdef" * (2 * len(drafts))
    texts, phone_then = chain.seal(drafts, phone.device, phone.now, random, "")
    for path in pages(job):
        before = phone.device
        phone.device = phone_then
        try:
            assert ask(phone, path, phone.texts + texts)["status"] < 500, path
        finally:
            phone.device = before
