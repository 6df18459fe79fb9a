"""The build: the same bytes each time, all or nothing, and pages that hold together."""

import re
import shutil
from pathlib import Path

import pytest
from bs4 import BeautifulSoup

from pwa.build import build as builder
from pwa.build.content.reader import ContentError

REAL = Path(__file__).parent.parent.parent / "content"


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_the_same_input_gives_the_same_bytes(dist, tmp_path):
    """The other build is that of the whole run, which often another process has made."""
    builder.build(tmp_path / "again")
    assert files(tmp_path / "again") == files(dist)


def test_bad_content_stops_the_build_and_leaves_the_old_one(tmp_path):
    shutil.copytree(REAL, tmp_path / "content")
    (tmp_path / "content/engines.yaml").write_text("- name: no key\n")
    target = tmp_path / "dist"
    target.mkdir()
    (target / "old").write_text("old")
    with pytest.raises(ContentError, match=r"engines\.yaml:1"):
        builder.build(target, tmp_path / "content")
    assert files(target) == {"old": b"old"}


def test_the_worker_is_one_classic_script_without_a_top_level_await(dist):
    script = (dist / "worker.js").read_text("utf-8")
    assert script.startswith('"use strict";(()=>{')
    assert re.search(r"^\s*(import|export)\b", script, re.MULTILINE) is None
    assert "eval(" not in script.replace("_eval(", "")


def test_the_worker_lists_every_file_with_its_hash(dist):
    script = (dist / "worker.js").read_text("utf-8")
    for path in files(dist):
        if path not in ("worker.js", "version.json", "network.bif"):
            assert f'"/{path}"' in script, path


def pages(dist: Path) -> list[Path]:
    return sorted(dist.rglob("*.html"))


def test_every_page_has_its_landmarks_one_heading_and_nothing_from_outside(dist):
    for path in pages(dist):
        page = BeautifulSoup(path.read_text("utf-8"), "html.parser")
        assert page.html["lang"] == "en", path
        assert page.title and page.title.text.strip(), path
        assert len(page.select("h1")) == 1, path
        assert len(page.select("main")) == 1, path
        assert page.select("header"), path
        for tag, name in (
            ("a", "href"),
            ("link", "href"),
            ("script", "src"),
            ("img", "src"),
            ("form", "action"),
        ):
            for item in page.select(f"{tag}[{name}]"):
                assert item[name].startswith(("/", "#")), f"{path}: {item[name]}"
        for field in page.select("input:not([type=hidden]), textarea, select"):
            assert field.find_parent("label") or page.select(f"label[for='{field.get('id')}']"), path


def test_every_handbook_page_is_reached_from_the_index_and_no_link_is_dead(dist):
    seen, left = set(), ["/handbook/"]
    while left:
        address = left.pop()
        if address in seen or not address.startswith("/handbook/"):
            continue
        seen.add(address)
        file = dist / (address[1:] + "index.html" if address.endswith("/") else address[1:])
        assert file.exists(), address
        page = BeautifulSoup(file.read_text("utf-8"), "html.parser")
        left += [link["href"].split("#")[0] for link in page.select("main a[href]")]
    assert len(seen) == len(list((dist / "handbook").rglob("*.html")))
