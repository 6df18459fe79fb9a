"""A new record kind: its entry, the screen that writes it, its template, and their lines in the lists."""

import re
from pathlib import Path
from string import Template

from pwa.app.kinds.table import KINDS
from pwa.build.new.files import Made, module_of

TABLE, ROUTES = "pwa/app/kinds/table.py", "pwa/app/routes.py"
WIDTH = 110
KIND = Template('''\
"""FILL IN: what is written down, in one line."""

from typing import TYPE_CHECKING

from pwa.app.kinds.shape import TIMELINE, Kind, needed, text

if TYPE_CHECKING:
    from pwa.app.kinds.data import $class_
    from pwa.app.protocol import Content


def _words(data: "$class_", content: "Content") -> str:
    return data["text"]  # FILL IN: the record in one line


KINDS = [
    Kind(
        "$key",
        "FILL IN: what stands before its words in the timeline, with a colon:",
        _words,
        TIMELINE,  # FILL IN: or a heading of the summary, see SECTIONS in table.py
        [needed("text", text)],  # FILL IN: its fields, see shape.py
        alone="FILL IN: why two of it cannot disagree; or take this out and name its subject.",
    ),
]
''')
SCREEN = Template('''\
"""FILL IN: what is written down here, in one line."""

from typing import TYPE_CHECKING

from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.visit import Route


def ask(visit: Visit) -> Reply:
    return page("job/$module.html", {"error": ""})


def write(visit: Visit) -> Reply:
    text = visit.field("text")
    if not text:
        return page("job/$module.html", {"error": "FILL IN: what is missing."}, status=422)
    return save([draft(visit.job["id"], "$key", {"text": text})], visit.at("timeline"))


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/$key", ask),
    ("POST", "/job/{job}/$key", write),
]
''')
PAGE = """\
{% extends "frame/base.html" %}
{% import "frame/forms.html" as forms %}
{% block title %}FILL IN: title{% endblock %}
{% block main %}
<p class="back"><a href="{{ base }}/job/{{ job.id }}">{{ job.opened.unit }}</a></p>
<h1>FILL IN: heading</h1>
{{ forms.error(error) }}
<form method="post" action="{{ base }}/job/{{ job.id }}/KEY" class="stack">
  {{ forms.area("text", "FILL IN: label") }}
  {{ forms.button("Save") }}
</form>
{% endblock %}
"""


def kind(key: str, root: Path) -> Made:
    module = module_of(key)
    table, routes = (root / TABLE).read_text("utf-8"), (root / ROUTES).read_text("utf-8")
    if key in KINDS or re.search(rf"\b{module}\b", table + routes):
        raise ValueError(f"{key} is taken by a kind or a module of {TABLE} or {ROUTES}. Choose another key.")
    class_ = "".join(part.capitalize() for part in key.split("-"))
    files = {
        f"pwa/app/kinds/{module}.py": KIND.substitute(key=key, class_=class_),
        f"pwa/app/screens/job/{module}.py": SCREEN.substitute(key=key, module=module),
        f"pwa/templates/job/{module}.html": PAGE.replace("KEY", key),
    }
    changed = {
        TABLE: _in_list(_imported(table, "pwa.app.kinds", module), r"(for module in \([^)]*)(\))", module),
        ROUTES: _in_list(
            _imported(routes, "pwa.app.screens.job", module), r"(SCREENS = \[[^]]*,)(\n\])", module + ","
        ),
    }
    return Made(
        files,
        [
            *(f"Fill in {name}." for name in files),
            "After a change of its fields run `python -m pwa.build.record_types`.",
            f"Lead to /job/JOB/{key} from the page where a technician wants it.",
            "Run `layby build` and `python -m pytest tests/app/kinds`.",
        ],
        changed,
    )


def _imported(text: str, room: str, module: str) -> str:
    """The text with the module among those that it imports from the room."""
    found = re.search(rf"^from {re.escape(room)} import (\([^)]*\)|[^\n]*)$", text, re.MULTILINE)
    if not found:
        raise ValueError(f"There is no line that imports from {room}.")
    names = sorted([*re.findall(r"\w+", found[1]), module])
    line = f"from {room} import {', '.join(names)}"
    if len(line) > WIDTH:
        line = f"from {room} import (\n" + "".join(f"    {name},\n" for name in names) + ")"
    return text.replace(found[0], line)


def _in_list(text: str, pattern: str, item: str) -> str:
    """The text with the item last in the list that the pattern finds."""
    found = re.search(pattern, text)
    if not found:
        raise ValueError(f"There is no list to put {item} into.")
    between = "\n    " if found[1].endswith(",") else ", "
    return text.replace(found[0], found[1] + between + item + found[2])
