"""The type checker knows the content: its shapes are schema.py's, and what is misspelt is found."""

import re
from pathlib import Path

import pytest
from mypy import api

from pwa.app.content import find, name_of, title_of
from pwa.build.content import shapes
from tests.helpers.trade import CONTENT

ROOT = Path(__file__).parents[2]
# One line each, and what mypy says of it; "" where nothing is wrong.
LINES = [
    ('content["joints"][0]["name"].upper()', ""),
    ('content["joint"]', 'TypedDict "Content" has no key "joint"'),
    ('content["joints"][0]["nmae"]', 'TypedDict "Joint" has no key "nmae"'),
    ('find(content["findings"], "oil-use")["question"]', 'Value of type "Finding | None" is not indexable'),
    ('name_of(content["repairs"], "x").upper()', ""),
    ('name_of(content["measures"], "x")', "has incompatible type"),
    ('title_of(content["measures"], "x").upper()', ""),
    ('content["measures"][0]["limits"][0]["value"].upper()', '"float" has no attribute "upper"'),
    ('content["joints"][0]["marks"] == "angel"', "Non-overlapping equality check"),
]


def test_the_stub_is_what_the_models_say():
    written = shapes.STUB.read_text("utf-8")
    assert written == shapes.stub(), f"schema.py was changed: run `{shapes.COMMAND}`"


def test_mypy_finds_what_is_misspelt(tmp_path, monkeypatch):
    head = [
        "from pwa.app.content import find, name_of, title_of",
        "from pwa.app.shapes import Content",
        "content: Content",
    ]
    snippet = tmp_path / "snippet.py"
    snippet.write_text("\n".join(head + [line for line, _ in LINES]), "utf-8")
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("MYPYPATH", str(ROOT))
    said, trouble, _ = api.run(["--strict", "--hide-error-context", str(snippet)])
    assert not trouble
    for number, (line, expected) in enumerate(LINES, len(head) + 1):
        found = re.findall(rf"snippet\.py:{number}: error: (.*)", said)
        assert len(found) == bool(expected), f"{line}: {found}"
        assert expected in "".join(found), f"{line}: {found}"


def test_a_type_that_the_stub_cannot_say_is_refused():
    with pytest.raises(TypeError, match=r"when: .* has no place in the stub yet"):
        shapes._type(complex, "when")


def test_the_compiled_content_has_the_tables_that_the_stub_names():
    table = shapes.stub().split("class Content(TypedDict):\n")[1]
    assert set(re.findall(r"^    (\w+):", table, re.M)) == set(CONTENT)


@pytest.mark.parametrize("table", ["joints", "findings", "measures", "cautions", "repairs"])
def test_every_item_is_found_by_its_key(table):
    for item in CONTENT[table]:
        assert find(CONTENT[table], item["key"]) is item
    assert find(CONTENT[table], "no-such-key") is None


def test_what_this_version_does_not_know_is_called_by_its_key():
    assert name_of(CONTENT["joints"], "no-such-joint") == "no-such-joint"
    assert title_of(CONTENT["measures"], "no-such-measure") == "no-such-measure"
    first = CONTENT["measures"][0]
    assert title_of(CONTENT["measures"], first["key"]) == first["title"]
