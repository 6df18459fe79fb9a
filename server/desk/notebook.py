"""The notebook as the desk runs it: compiled content, and Jinja2 itself over the phone's templates."""

import json
from pathlib import Path
from typing import Any

import jinja2

from pwa.app.notebook import Notebook
from pwa.build import templates

DESK_TEMPLATES = Path(__file__).parent / "templates"


class Pages:
    """The phone's templates, and beside them the desk's own."""

    def __init__(self) -> None:
        shared = templates.environment()
        assert shared.loader is not None
        own = jinja2.FileSystemLoader(DESK_TEMPLATES)
        self._jinja = shared.overlay(loader=jinja2.ChoiceLoader([shared.loader, own]))

    def render(self, template: str, context: dict[str, Any]) -> str:
        return self._jinja.get_template(template).render(context)


def load(dist: Path, pages: Pages) -> Notebook:
    """The notebook over the content that phones get from the same build.

    Raises:
        ValueError: nothing is built yet.
    """
    compiled = dist / "phone" / "content.json"
    if not compiled.is_file():
        raise ValueError("The phone's app is not built yet. Run `layby build` first.")
    return Notebook(json.loads(compiled.read_bytes()), pages.render)
