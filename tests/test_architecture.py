"""The rooms of the house: who may import whom, what never leaves its room, and that the tools agree."""

import ast
import functools
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from pwa.build import node

ROOT = Path(__file__).parent.parent
# Arrows run one way: a room may import itself and what stands here.
MAY_IMPORT = {
    "pwa/engine": set(),
    "pwa/app": {"pwa.engine"},
    "pwa/templates": set(),
    "pwa/build": {"pwa.engine", "pwa.app", "pwa.templates"},
    "pwa/phone": {"pwa.app"},
    "server": {"pwa.engine", "pwa.app", "pwa.templates"},
    "demo": {"pwa.engine", "pwa.app", "pwa.build", "server"},
}
# Commands for a checkout, where the build is: the wheel has none.
OF_A_CHECKOUT = {f"server/commands/{name}.py" for name in ("build", "dev", "new")}
# The floors of each house, from the top down. A room imports none of its own floor or above, no type either.
FLOORS = {
    "pwa/engine": [
        "measures",
        "clocking evidence logs sweep",
        "air bolts case_code codes electrical heat numbers proof",
    ],
    "pwa/app": [
        "notebook",
        "routes",
        "screens",
        "gate progress",
        "cautions carry frame recordings",
        "evidence joints story worksheets",
        "visit",
        "closing",
        "bolts record",
        "kinds when",
        "protocol",
        "content contract shapes",
    ],
    "pwa/build": [
        "wheel",
        "build new setup",
        "checks",
        "handbook licences model python_pack record_types",
        "content icons node templates",
        "cache watch",
    ],
    "server": [
        "cli",
        "commands",
        "serve",
        "app out_of_order",
        "desk doctor sync wire",
        "backup door files health rot site",
        "content observe store",
        "address errors headers settings signing turns",
    ],
}
# What MicroPython has of the standard library, as far as we use it.
ON_THE_PHONE = {"typing", "math", "json", "re", "binascii", "hashlib", "collections", "array", "sys"}


def python_files(folder: str) -> list[Path]:
    found = [path for path in (ROOT / folder).rglob("*.py") if "node_modules" not in path.parts]
    assert found, f"no Python in {folder}"
    return found


def imports(path: Path) -> list[tuple[str, bool]]:
    """Each imported module, and whether only the type checker sees it."""
    tree = ast.parse(path.read_text("utf-8"))
    found: list[tuple[str, bool]] = []

    def visit(item: ast.AST, checking: bool) -> None:
        if isinstance(item, ast.If) and "TYPE_CHECKING" in ast.dump(item.test):
            checking = True
        if isinstance(item, ast.Import):
            found.extend((alias.name, checking) for alias in item.names)
        if isinstance(item, ast.ImportFrom) and item.module:
            found.extend((f"{item.module}.{alias.name}", checking) for alias in item.names)
        for child in ast.iter_child_nodes(item):
            visit(child, checking)

    visit(tree, False)
    return found


def within(module: str, room: str) -> bool:
    return module == room or module.startswith(room + ".")


@pytest.mark.parametrize("folder", MAY_IMPORT)
def test_arrows_run_one_way(folder: str) -> None:
    allowed = MAY_IMPORT[folder] | {folder.replace("/", ".")}
    for path in python_files(folder):
        builds = path.relative_to(ROOT).as_posix() in OF_A_CHECKOUT
        for module, _ in imports(path):
            if builds and within(module, "pwa.build"):
                continue
            ours = module.split(".")[0] in ("pwa", "server", "demo", "tests")
            assert not ours or any(within(module, room) for room in allowed), f"{path} imports {module}"


def test_no_two_files_of_tests_have_one_name() -> None:
    """pytest takes files of one name for one module where their folders are no packages."""
    files = (ROOT / "tests").rglob("test_*.py")
    names = [path.name for path in files if not (path.parent / "__init__.py").exists()]
    assert sorted(names) == sorted(set(names))


@pytest.mark.parametrize("house", FLOORS)
def test_no_room_imports_one_on_its_own_floor_or_above(house: str) -> None:
    floor = {room: at for at, row in enumerate(FLOORS[house]) for room in row.split()}
    rising = set()
    for path in python_files(house):
        here = path.relative_to(ROOT / house).with_suffix("").parts[0]
        assert here == "__init__" or here in floor, f"say in FLOORS on which floor {house}/{here} stands"
        for module, _ in imports(path):
            if within(module, house.replace("/", ".")) and here != "__init__":
                there = module.removeprefix(house.replace("/", ".") + ".").split(".")[0]
                if there != here and floor[there] <= floor[here]:
                    rising.add(f"{path.relative_to(ROOT)} imports {module}")
    assert not rising, "\n".join(sorted(rising))


@pytest.mark.parametrize("folder", ["pwa/engine", "pwa/app"])
def test_engine_and_app_import_only_what_micropython_has(folder: str) -> None:
    for path in python_files(folder):
        for module, checking in imports(path):
            top = module.split(".")[0]
            assert checking or top == "pwa" or top in ON_THE_PHONE, f"{path} imports {module}"


def run(*arguments: str) -> None:
    done = subprocess.run([sys.executable, "-m", *arguments], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


def test_ruff_finds_nothing() -> None:
    run("ruff", "check", ".")


def test_ruff_would_lay_out_every_file_as_it_is() -> None:
    run("ruff", "format", "--check", ".")


@pytest.mark.slow
def test_mypy_finds_nothing() -> None:
    run("mypy")


@pytest.mark.slow
@pytest.mark.parametrize("folder", ["phone", "static"])
def test_tsc_finds_nothing(folder: str) -> None:
    node.run(["node_modules/typescript/bin/tsc", "-p", folder])


def test_no_script_or_style_is_inline() -> None:
    """The content security policy would block it, silently, on the phone."""
    for folder in ("pwa/templates", "server/templates"):
        for path in (ROOT / folder).rglob("*.html"):
            text = path.read_text("utf-8")
            assert "<style" not in text, path
            assert " style=" not in text, path
            assert "<script>" not in text, path
            assert " onclick=" not in text, path


# Folder -> the extras that its code may need beside what runs.
EXTRAS: dict[str, tuple[str, ...]] = {
    "server": (),
    "pwa/engine": (),
    "pwa/app": (),
    "pwa/templates": (),
    "pwa/build": ("build",),
    "demo": ("build", "demo"),
}


owners_of_modules = functools.cache(packages_distributions)


@pytest.mark.parametrize("folder", EXTRAS)
def test_no_package_is_needed_that_is_not_asked_for(folder):
    """The server works with the packages that come with the wheel, `demo/run` with those of its extras."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    lines = [*project["dependencies"]]
    for extra in EXTRAS[folder]:
        lines += project["optional-dependencies"][extra]
    asked = {re.split(r"[=<>\[]", line)[0].lower() for line in lines}
    owners = owners_of_modules()
    for path in python_files(folder):
        if path.name == "screenshots.py":  # says in its first lines that it needs what the tests need
            continue
        for name in {module.split(".")[0] for module, _ in imports(path)} - sys.stdlib_module_names:
            owner = {item.lower().replace("_", "-") for item in owners.get(name, [])}
            assert not owner or owner & (asked | {"layby"}), f"{path}: {name} is not asked for"
