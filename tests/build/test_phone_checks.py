"""The build says in one line, with file and line, what a phone could not run or render."""

import shutil

import pytest

from pwa.build import python_pack
from pwa.build.checks import imports, template_names
from pwa.templates import ROOT


def test_all_templates_name_what_is_there():
    template_names.check()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a\n{% if %}", "2: Expected an expression, got 'end of statement block'"),
        ("{{ x }}\n{{ x|lowr }}", "2: there is no filter lowr on the phone; did you mean lower?"),
        ("{{ x|title }}", "1: there is no filter title on the phone"),  # Jinja2 has it, the phone has not
        (
            "{% if x is definde %}{% endif %}",
            "1: there is no test definde on the phone; did you mean defined?",
        ),
        (
            "\n{% extends 'frame/bas.html' %}",
            "2: there is no template frame/bas.html; did you mean frame/base",
        ),
        ("{% include 'frame/bas.html' %}", "1: there is no template frame/bas.html; did you mean frame/base"),
        ("{% from 'own.html' import feild %}", "1: there is no macro feild in own.html; did you mean field?"),
        (
            "{% import 'own.html' as own %}\n{{ own.feild(1) }}",
            "2: there is no macro feild in own.html; did you mean field?",
        ),
        (
            "{% macro field(x) %}{% endmacro %}\n{{ feild(1) }}",
            "2: there is no macro feild; did you mean field?",
        ),
    ],
)
def test_a_template_that_names_what_is_not_there_is_one_line(tmp_path, text, says):
    shutil.copytree(ROOT, tmp_path / "templates", ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    (tmp_path / "templates/own.html").write_text("{% macro field(x) %}{{ x }}{% endmacro %}", "utf-8")
    (tmp_path / "templates/broken.html").write_text(text, "utf-8")
    with pytest.raises(template_names.TemplateError) as caught:
        template_names.check(tmp_path / "templates")
    (line,) = str(caught.value).splitlines()
    assert line.startswith(f"pwa/templates/broken.html:{says}")


def pack_with(monkeypatch, source):
    """A small pack: one module with this source, and one that imports it."""
    sources = {
        "pwa/__init__.py": "",
        "pwa/good.py": "from pwa import tried\n",
        "pwa/tried.py": source,
    }
    monkeypatch.setattr(python_pack, "sources", lambda cache: sources)
    return python_pack.pack()


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ("x = 1\nfrom math import hypot\n", "pwa/tried.py:2: ImportError: can't import name hypot"),
        ("import statistics\n", "pwa/tried.py:1: ImportError: no module named 'statistics'"),
        ("\n\n'abc'.removeprefix('a')\n", "pwa/tried.py:3: AttributeError: "),
    ],
)
def test_a_module_that_a_phone_cannot_import_is_one_line(monkeypatch, source, says):
    pack = pack_with(monkeypatch, source)
    with pytest.raises(python_pack.PhonePythonError) as caught:
        imports.check(pack)
    (line,) = str(caught.value).splitlines()  # whoever imports it fails with it, and is not listed
    assert line.startswith(says)


def test_a_module_that_a_phone_can_import_passes(monkeypatch):
    imports.check(pack_with(monkeypatch, "from math import sqrt\n"))


def test_a_module_that_does_not_compile_for_a_phone_is_one_line(monkeypatch):
    with pytest.raises(python_pack.PhonePythonError) as caught:
        pack_with(monkeypatch, "x = 1\nmatch x:\n    case 1:\n        pass\n")
    (line,) = str(caught.value).splitlines()
    assert line == "pwa/tried.py:2: SyntaxError: invalid syntax (compiling for MicroPython)"
