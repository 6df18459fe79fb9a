"""Whether what a template names is there: templates, macros, filters and tests, on the phone too."""

import importlib.util
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import jinja2
from jinja2 import meta, nodes

from pwa.build.content.names import missing
from pwa.build.templates import names
from pwa.templates import ROOT, environment

RUNTIME = Path(__file__).parents[2] / "phone/lib/jinja2/runtime.py"
DESK_ONLY = "handbook/"  # rendered by the build, never on the phone
NAMING = (nodes.Extends, nodes.Include, nodes.Import, nodes.FromImport)
Problem = tuple[int, str]  # line, what is wrong


class TemplateError(ValueError):
    """Every problem found, one a line: `file:line: what is wrong`."""


def check(root: Path = ROOT) -> None:
    """Resolve what all templates name.

    Raises:
        TemplateError: something is not there, or a template cannot be read.
    """
    problems: list[str] = []
    parsed: dict[str, nodes.Template] = {}
    for name in names(root):
        try:
            parsed[name] = environment().parse((root / name).read_text("utf-8"), name)
        except jinja2.TemplateSyntaxError as error:
            problems.append(f"pwa/templates/{name}:{error.lineno}: {error.message}")
    if not problems:
        phone, desk = _runtime().environment, environment()
        for name, tree in parsed.items():
            where = desk if name.startswith(DESK_ONLY) else phone
            for line, said in _problems(tree, parsed, set(where.filters), set(where.tests)):
                problems.append(f"pwa/templates/{name}:{line}: {said}")
    if problems:
        raise TemplateError("\n".join(problems))


def _runtime() -> ModuleType:
    """What stands for Jinja2 on the phone, loaded here for the names that it has."""
    spec = importlib.util.spec_from_file_location("phone_jinja2_runtime", RUNTIME)
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _problems(
    tree: nodes.Template, parsed: dict[str, nodes.Template], filters: set[str], tests: set[str]
) -> Iterator[Problem]:
    unknown = [
        (node.lineno, missing(what, node.name, sorted(known), " on the phone"))
        for what, kind, known in (("filter", nodes.Filter, filters), ("test", nodes.Test, tests))
        for node in tree.find_all(kind)
        if node.name not in known
    ]
    yield from unknown
    naming: list[Any] = list(tree.find_all(NAMING))
    for named in naming:
        wanted = named.template.value if isinstance(named.template, nodes.Const) else ""
        if wanted and wanted not in parsed:
            yield named.lineno, missing("template", wanted, parsed)
        elif wanted and isinstance(named, nodes.FromImport):
            for item in named.names:
                key = item if isinstance(item, str) else item[0]
                if key not in _exported(parsed[wanted]):
                    yield named.lineno, missing("macro", key, _exported(parsed[wanted]), f" in {wanted}")
        elif wanted and isinstance(named, nodes.Import):
            yield from _used(tree, named.target, wanted, _exported(parsed[wanted]))
    if not unknown:  # Jinja2 looks no further where a filter is unknown
        yield from _called(tree)


def _exported(tree: nodes.Template) -> list[str]:
    """Names that another template can import."""
    macros = [node.name for node in tree.find_all(nodes.Macro)]
    assigned = [
        node.target.name for node in tree.find_all(nodes.Assign) if isinstance(node.target, nodes.Name)
    ]
    return macros + assigned


def _used(tree: nodes.Template, alias: str, wanted: str, known: list[str]) -> Iterator[Problem]:
    for node in tree.find_all(nodes.Getattr):
        if isinstance(node.node, nodes.Name) and node.node.name == alias and node.attr not in known:
            yield node.lineno, missing("macro", node.attr, known, f" in {wanted}")


def _called(tree: nodes.Template) -> Iterator[Problem]:
    """A page is given data alone, so what is called is a macro of this template or an imported one."""
    given = meta.find_undeclared_variables(tree)
    macros = [node.name for node in tree.find_all(nodes.Macro)]
    for node in tree.find_all(nodes.Call):
        if isinstance(node.node, nodes.Name) and node.node.name in given:
            yield node.lineno, missing("macro", node.node.name, macros)
