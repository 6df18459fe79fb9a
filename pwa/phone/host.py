"""The notebook's host on the phone: JSON text in, JSON text out (called by python.js)."""

import json

from jinja2.runtime import environment

from pwa.app.notebook import Notebook
from pwa.app.record import forked, incoming, integrity

_notebook = []  # the one notebook, once started


def start(content):
    _notebook[:] = [Notebook(json.loads(content), _render)]


def needs(request):
    return json.dumps(_notebook[0].needs(json.loads(request)))


def answer(request, rows):
    return json.dumps(_notebook[0].answer(json.loads(request), json.loads(rows)))


def mended(rows, texts, device):
    return json.dumps(integrity.mended(json.loads(rows), json.loads(texts), json.loads(device)))


def judge(texts, device, last):
    return json.dumps(incoming.judge(json.loads(texts), json.loads(device), json.loads(last)))


def fork(here, text, texts, device, new_id, random):
    """ "" when the phone was not restored from a backup after all."""
    if not forked.is_restored(json.loads(here), text):
        return ""
    return json.dumps(forked.fork(json.loads(texts), json.loads(device), new_id, random))


def _render(template, context):
    return environment.get_template(template).render(context)
