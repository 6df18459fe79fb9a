"""The page of licences has every package that a phone gets something of, with its own text."""

import json
import re
from pathlib import Path

import pytest
from bs4 import BeautifulSoup

from pwa.build import build, node

PACKAGE = r"node_modules/((?:@[\w.-]+/)?[\w.-]+)/"


@pytest.fixture(scope="module")
def shown(dist):
    page = BeautifulSoup((dist / "licences.html").read_text("utf-8"), "html.parser")
    return {item.select_one("strong").text: item for item in page.select("main details")}


@pytest.mark.parametrize("entry", ["phone/worker.js", "phone/recording.js"])
def test_every_package_in_a_bundle_is_on_the_page(entry, shown):
    known = {"PRECACHE": {}, "CONTRACT": build.agreed()}
    inputs = node.run(["build/bundle.mjs", entry, "inputs"], given=json.dumps(known))
    packages = set(re.findall(PACKAGE, inputs))
    assert "phone/boot.js" in inputs
    assert "@micropython/micropython-webassembly-pyscript" in packages
    assert packages <= set(shown)


def test_every_package_that_is_copied_is_on_the_page(shown):
    source = Path(build.__file__).read_text("utf-8")
    copied = re.findall(r'node\.MODULES / "((?:@[\w.-]+/)?[\w.-]+)/', source)
    assert {"htmx.org", "lean-qr"} <= set(copied) <= set(shown)


def test_each_has_the_version_and_the_text_of_what_is_installed(shown):
    assert "Apache License" in shown["Layby"].text
    for name, item in shown.items():
        text = item.select_one("pre").text
        assert re.search("permission|licen[cs]ed|redistribution", text, re.IGNORECASE), name
        if (node.MODULES / name / "package.json").exists():
            about = json.loads((node.MODULES / name / "package.json").read_text("utf-8"))
            assert item.select_one("summary").text == f"{name} {about['version']} ({about['license']})"
