"""The templates compiled for the phone, by Jinja2's own compiler."""

import functools
import json
import re
from pathlib import Path
from typing import NamedTuple

import jinja2

from pwa.build.cache import NO_CACHE, Cache
from pwa.templates import ROOT, environment

HEAD = "from jinja2.runtime import environment\n"
COMPILER = Path(__file__).read_text("utf-8")  # a change of ours makes other modules too


def names(root: Path = ROOT) -> list[str]:
    return sorted(path.relative_to(root).as_posix() for path in root.rglob("*.html"))


def module_name(template: str) -> str:
    """The phone's module for a template: "joints/marks.html" is `pages/joints_marks_html`."""
    return "pages/" + re.sub(r"[/.-]", "_", template)


class Compiled(NamedTuple):
    source: str
    lines: list[tuple[int, int]]  # (line of the module, line of the template) where another one begins


def compile_for_phone(template: str, cache: Cache = NO_CACHE) -> Compiled:
    """Jinja2's own compiler output, made fit for MicroPython.

    Three things are changed. The module finds its environment itself, since nobody injects it.
    MicroPython drops `if 0: yield None`, after which the function is no generator; an empty loop stays.
    And where the template's lines are is kept beside the module, not in the phone's memory.
    """
    source = (ROOT / template).read_text("utf-8")
    made_from = f"{jinja2.__version__}\n{COMPILER}\n{template}\n{source}"
    source, lines = json.loads(cache.kept(made_from, lambda: json.dumps(compiled(template, source)).encode()))
    return Compiled(source, [(module, line) for module, line in lines])


@functools.cache  # asked for by the pack and by the map of lines
def compiled(template: str, source: str) -> Compiled:
    """The same of a text that stands in no file."""
    code = environment().compile(source, name=template, filename=f"pwa/templates/{template}", raw=True)
    code = HEAD + code.replace("if 0: yield None", "for _ in (): yield None")
    code, end, debug = code.rpartition("\ndebug_info = ")
    assert end, f"{template}: Jinja2 wrote no lines"
    return Compiled(code + "\n", _lines(debug.strip().strip("'")))


def _lines(debug_info: str) -> list[tuple[int, int]]:
    """Jinja2's "template line=module line&..." without the lines of HEAD."""
    pairs = [pair.split("=") for pair in debug_info.split("&") if pair]
    return [(int(module) + HEAD.count("\n"), int(template)) for template, module in pairs]


def compile_all(cache: Cache = NO_CACHE) -> dict[str, Compiled]:
    """Module path without suffix -> its source and lines, for every template the phone renders."""
    return {
        module_name(name): compile_for_phone(name, cache)
        for name in names()
        if not name.startswith("handbook/")
    }


def line_map(cache: Cache = NO_CACHE) -> dict[str, tuple[str, list[tuple[int, int]]]]:
    """Module path -> the template it was made of and its lines, for tracebacks (pwa/phone/failure.js)."""
    named = {module_name(name): name for name in names()}
    return {f"{module}.py": (named[module], made.lines) for module, made in compile_all(cache).items()}
