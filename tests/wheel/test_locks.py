"""The locks have every package that pyproject.toml asks for, in its version, and each with its hashes."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
EXTRAS = {"demo": ("build", "demo"), "test": ("build", "demo", "test")}


def locked(lock: str) -> list[str]:
    """The paragraphs of a lock, one a package."""
    text = (ROOT / f"pwa/build/locks/{lock}.txt").read_text("utf-8")
    return re.split(r"^(?=[\w.-]+==)", text, flags=re.MULTILINE)


@pytest.mark.parametrize("lock", EXTRAS)
def test_the_lock_has_every_pin_of_the_project(lock):
    asked = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    pins = [*asked["project"]["dependencies"], *asked["build-system"]["requires"]]
    for extra in EXTRAS[lock]:
        pins += asked["project"]["optional-dependencies"][extra]
    there = {paragraph.split()[0].lower() for paragraph in locked(lock)[1:]}
    missing = {pin.lower() for pin in pins if not pin.startswith("layby[")} - there
    assert not missing, "make the locks anew, by the commands that stand at their head"


@pytest.mark.parametrize("lock", EXTRAS)
def test_each_package_has_its_hashes_and_no_address(lock):
    head, *packages = locked(lock)
    assert "uv pip compile" in head
    assert len(packages) > 30
    for package in packages:
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", package), package
        assert "://" not in package, package


def test_the_locks_have_the_same_versions():
    demo, test = ({paragraph.split(" \\")[0] for paragraph in locked(lock)[1:]} for lock in EXTRAS)
    assert demo <= test
