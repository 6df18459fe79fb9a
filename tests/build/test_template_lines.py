"""Lines of compiled templates, as a phone's traceback gives them, lead back to the template's own."""

import jinja2
import pytest

from pwa.build import templates
from pwa.templates import environment


def mapped(pairs: list[tuple[int, int]], at: int) -> int:
    """As pwa/phone/failure.js."""
    return next((line for module, line in reversed(pairs) if module <= at), 1)


@pytest.mark.parametrize("name", [name for name in templates.names() if not name.startswith("handbook/")])
def test_every_line_is_the_one_that_jinja_names(name: str) -> None:
    here: jinja2.Template = environment().get_template(name)
    module, (source, pairs) = templates.module_name(name), templates.compile_for_phone(name)
    assert templates.line_map()[f"{module}.py"] == (name, pairs)
    for at in range(1, source.count("\n")):
        assert mapped(pairs, at + 1) == here.get_corresponding_lineno(at), f"line {at} of {module}"


def test_what_only_tracebacks_need_is_not_in_the_phones_memory() -> None:
    assert all("debug_info" not in made.source for made in templates.compile_all().values())
