"""The licences of what a phone keeps, out of the packages as they are installed here."""

import json
from importlib import metadata
from pathlib import Path
from typing import NamedTuple

from pwa.build import node

HERE = Path(__file__).parent
ROOT = node.PWA.parent
TOOLS = ("esbuild",)  # makes the bundles and is in none of them
NAMES = ("LICENSE", "LICENCE", "COPYING", "NOTICE")  # how such a file's name begins
# A package without a licence file -> that of its repository, kept here.
ELSEWHERE = {"@micropython/micropython-webassembly-pyscript": "micropython.txt"}


class Notice(NamedTuple):
    name: str
    version: str
    licence: str  # as SPDX writes it
    text: str


def notices() -> list[Notice]:
    """Layby's own licence, then one of each package that a phone gets something of.

    Raises:
        LookupError: a package has no licence file.
    """
    own = Notice("Layby", "", "Apache-2.0", (ROOT / "LICENSE").read_text("utf-8"))
    return [own, *(_npm(name) for name in bundled()), _jinja2()]


def bundled() -> list[str]:
    """The npm packages that the lock names, without those for development alone and the bundler."""
    lock = json.loads((node.PWA / "package-lock.json").read_text("utf-8"))
    names = [
        path.removeprefix("node_modules/")
        for path, about in lock["packages"].items()
        if path and not about.get("dev") and not about.get("optional")
    ]
    return sorted(name for name in names if name not in TOOLS)


def _npm(name: str) -> Notice:
    folder = node.MODULES / name
    about = json.loads((folder / "package.json").read_text("utf-8"))
    files = sorted(path for path in folder.iterdir() if path.name.upper().startswith(NAMES))
    if name in ELSEWHERE:
        files.append(HERE / ELSEWHERE[name])
    if not files:
        raise LookupError(f"{name} has no licence file; put that of its repository beside {__file__}.")
    text = "\n\n".join(path.read_text("utf-8") for path in files)
    return Notice(name, about["version"], about["license"], text)


def _jinja2() -> Notice:
    """The pages on the phone are what Jinja2's compiler wrote."""
    package = metadata.distribution("jinja2")
    files = [path for path in package.files or () if ".dist-info/licenses/" in path.as_posix()]
    if not files:
        raise LookupError("Jinja2 has no licence file.")
    text = "\n\n".join(path.read_text("utf-8") for path in files)
    return Notice("Jinja2", package.version, "BSD-3-Clause", text)
