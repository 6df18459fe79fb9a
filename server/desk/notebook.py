"""The notebook as the desk runs it: compiled content, and Jinja2 itself over the phone's templates."""

from pathlib import Path
from typing import Any

import jinja2

from pwa import templates
from pwa.app.notebook import Notebook
from server import content

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
    return Notebook(content.load(dist), pages.render)
