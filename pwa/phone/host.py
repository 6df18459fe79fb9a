"""The notebook's host on the phone: JSON text in, JSON text out (called by python.js)."""

import json
from typing import TYPE_CHECKING

from jinja2.runtime import environment  # type: ignore[attr-defined]  # the phone's own, in lib

from pwa.app.notebook import Notebook
from pwa.app.record import forked, incoming, integrity

if TYPE_CHECKING:
    from pwa.app.visit import Context

_notebook: "list[Notebook]" = []  # the one notebook, once started


def start(content: str) -> None:
    _notebook[:] = [Notebook(json.loads(content), _render)]


def needs(request: str) -> str:
    return json.dumps(_notebook[0].needs(json.loads(request)))


def answer(request: str, rows: str) -> str:
    return json.dumps(_notebook[0].answer(json.loads(request), json.loads(rows)))


def mended(rows: str, texts: str, device: str) -> str:
    return json.dumps(integrity.mended(json.loads(rows), json.loads(texts), json.loads(device)))


def judge(texts: str, device: str, last: str) -> str:
    return json.dumps(incoming.judge(json.loads(texts), json.loads(device), json.loads(last)))


def fork(here: str, text: str, texts: str, device: str, new_id: str, random: str) -> str:
    """ "" when the phone was not restored from a backup after all."""
    if not forked.is_restored(json.loads(here), text):
        return ""
    return json.dumps(forked.fork(json.loads(texts), json.loads(device), new_id, random))


def _render(template: str, context: "Context") -> str:
    html: str = environment.get_template(template).render(context)
    return html
