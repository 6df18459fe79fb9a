"""The templates compiled for the phone, by Jinja2's own compiler."""

import re

from pwa.templates import ROOT, environment


def names() -> list[str]:
    return sorted(path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*.html"))


def module_name(template: str) -> str:
    """The phone's module for a template: "joints/marks.html" is `pages/joints_marks_html`."""
    return "pages/" + re.sub(r"[/.-]", "_", template)


def compile_for_phone(template: str) -> str:
    """Jinja2's own compiler output, made fit for MicroPython.

    Two things are changed. The module finds its environment itself, since nobody injects it. And
    MicroPython drops `if 0: yield None`, after which the function is no generator; an empty loop stays.
    """
    jinja = environment()
    assert jinja.loader is not None
    source, _, _ = jinja.loader.get_source(jinja, template)
    code = jinja.compile(source, name=template, raw=True)
    code = code.replace("if 0: yield None", "for _ in (): yield None")
    return "from jinja2.runtime import environment\n" + code


def compile_all() -> dict[str, str]:
    """Module path without suffix -> Python source, for every template the phone renders."""
    return {
        module_name(name): compile_for_phone(name) for name in names() if not name.startswith("handbook/")
    }
