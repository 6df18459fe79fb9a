"""Templates: one Jinja2 environment for desk and build, and the same templates compiled for the phone."""

import re
from pathlib import Path

import jinja2

ROOT = Path(__file__).parent.parent / "templates"


def environment() -> jinja2.Environment:
    """Jinja2 as the desk runs it; the phone's runtime is held to the same bytes."""
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(ROOT),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def names() -> list[str]:
    return sorted(path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*.html"))


def module_name(template: str) -> str:
    """The phone's module for a template: "joints/marks.html" is `pages/marks_html`."""
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
