"""The wheel, made, installed and run as a shop does it: no checkout, no Node, another folder."""

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
import venv
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest

from demo import scenario
from server.cli import COMMANDS
from server.settings import Settings
from server.store.shop import Shop
from tests.helpers.processes import free_port

pytestmark = pytest.mark.slow
ROOT = Path(__file__).parents[2]
NOT_COPIED = (".*", "node_modules", "dist", "data", "tests", "__pycache__")
CASE = {"drive": "electric", "place": "bay", "findings": {"supply-drop": "high"}}

Run = Callable[..., subprocess.CompletedProcess[str]]
PASSPHRASE = "correct horse battery staple"


def make(folder: Path) -> Path:
    """The wheel, by the one command, out of a copy of the checkout: what others use stays as it is."""
    checkout = folder / "checkout"
    shutil.copytree(ROOT, checkout, ignore=shutil.ignore_patterns(*NOT_COPIED))
    shutil.copy(ROOT / ".gitignore", checkout)
    (checkout / "pwa/node_modules").symlink_to((ROOT / "pwa/node_modules").resolve())
    command = [sys.executable, "-m", "pwa.build.wheel", str(folder)]
    subprocess.run(command, cwd=checkout, check=True, capture_output=True)
    (made,) = folder.glob("*.whl")
    return made


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def layby(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The start of a command line: the installed program, away from the checkout."""
    folder = tmp_path_factory.mktemp("elsewhere")
    venv.create(folder / "venv", with_pip=False)  # by this pip into it, which saves making another
    into = ["--python", str(folder / "venv/bin/python"), "--disable-pip-version-check", "-q"]
    subprocess.run([sys.executable, "-m", "pip", *into, "install", str(wheel)], check=True, cwd=folder)
    return [str(folder / "venv/bin/layby")]


@pytest.fixture
def environment(layby: list[str], tmp_path: Path) -> dict[str, str]:
    return {
        "PATH": str(Path(layby[0]).parent),
        "HOME": str(tmp_path),
        "LAYBY_DATA": str(tmp_path / "data"),
        "LAYBY_PORT": str(free_port()),
        "LANG": "C.UTF-8",
    }


@pytest.fixture
def run(layby: list[str], environment: dict[str, str], tmp_path: Path) -> Run:
    def ran(*arguments: str, status: int = 0) -> subprocess.CompletedProcess[str]:
        done = subprocess.run(
            [*layby, *arguments], cwd=tmp_path, env=environment, capture_output=True, text=True
        )
        assert done.returncode == status, (arguments, done)
        return done

    return ran


def test_it_holds_what_runs_and_nothing_else(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    tops = {"/".join(name.split("/")[:2]) for name in names if name.startswith("pwa/")}
    assert tops == {"pwa/__init__.py", "pwa/engine", "pwa/app", "pwa/templates", "pwa/dist"}
    about = f"{wheel.name.split('-py3')[0]}.dist-info"
    assert {name.split("/")[0] for name in names} == {"pwa", "server", about}
    for folder in ("server", "pwa/engine", "pwa/app", "pwa/templates"):
        there = {
            path.relative_to(ROOT).as_posix()
            for path in (ROOT / folder).rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }
        assert there <= set(names), f"missing: {there - set(names)}"
    assert "pwa/dist/phone/content.json" in names
    assert not [name for name in names if "node_modules" in name]


def test_the_same_input_makes_the_same_bytes(wheel: Path, tmp_path: Path) -> None:
    """Also on another day and for a person with another umask."""
    umask = os.umask(0o077)
    try:
        again = make(tmp_path)
    finally:
        os.umask(umask)
    assert again.read_bytes() == wheel.read_bytes()


def test_it_needs_only_what_runs(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as content:
        (name,) = [name for name in content.namelist() if name.endswith(".dist-info/METADATA")]
        metadata = content.read(name).decode()
    assert "License-Expression: Apache-2.0" in metadata
    needed = re.findall(r"^Requires-Dist: ([^;\n]+)$", metadata, re.MULTILINE)
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert sorted(needed) == sorted(project["dependencies"])


def test_every_command_is_there(run: Run) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert run("--version").stdout == f"layby {project['version']}\n"
    for command in COMMANDS:
        assert "usage: layby" in run(command, "--help").stdout


def test_the_commands_answer(run: Run, tmp_path: Path) -> None:
    (tmp_path / "case.json").write_text(json.dumps(CASE))
    assert json.loads(run("isolate", "case.json", "--json").stdout)["suspects"]
    code = run("case", "encode", "case.json").stdout.split()
    assert json.loads(run("case", "decode", *code, "--json").stdout)["drive"] == "electric"
    assert "641/7" in run("codes", "641/7").stdout
    assert "pressure-ratio" in run("calc").stdout
    assert "stepped-sweep" in run("sweep").stdout
    assert run("network").stdout.startswith("network layby {")
    assert "/desk/join#code=" in run("code", "desk").stdout
    assert "all whole" in run("check").stdout


def test_it_says_that_it_cannot_build(run: Run) -> None:
    said = run("build", status=2).stderr
    assert said.startswith("layby: Building needs a checkout")
    assert said.count("\n") == 1


@pytest.fixture
def served(layby: list[str], environment: dict[str, str], tmp_path: Path) -> Iterator[str]:
    """The address of the installed server."""
    url = f"http://127.0.0.1:{environment['LAYBY_PORT']}"
    with (tmp_path / "log").open("w") as log:
        process = subprocess.Popen(
            [*layby, "serve"], cwd=tmp_path, env=environment, stdout=subprocess.PIPE, stderr=log, text=True
        )
    assert process.stdout
    assert process.stdout.readline().startswith("Layby serves"), (tmp_path / "log").read_text()
    yield url
    process.terminate()
    process.communicate()


def test_it_serves_app_and_desk(served: str, environment: dict[str, str]) -> None:
    http = httpx.Client(base_url=served, follow_redirects=True)
    assert "<title>" in http.get("/").text
    assert http.get("/health").json() == {"status": "ok"}
    worker = http.get("/worker.js")
    for path in re.findall(r'"(/[^"]+)":"[0-9a-f]{64}"', worker.text):
        assert http.get(path).status_code == 200, path
    assert http.get("/desk/").url.path == "/desk/enter"
    shop = Shop(Settings(data=Path(environment["LAYBY_DATA"])))
    http.headers["Sec-Fetch-Site"] = "same-origin"
    form = {"code": shop.new_code("desk"), "name": "Anna", "passphrase": PASSPHRASE, "again": PASSPHRASE}
    assert "<h1>Jobs</h1>" in http.post("/desk/join", data=form).text
    shop.close()


def test_the_main_job_is_done_against_it(served: str, layby: list[str], environment: dict[str, str]) -> None:
    (dist,) = Path(layby[0]).parents[1].glob("lib/python*/site-packages/pwa/dist")
    shop = Shop(Settings(data=Path(environment["LAYBY_DATA"]), dist=dist))
    scenario.load(served, shop, lambda step: None)
    told = scenario.report(shop)
    shop.close()
    assert "job-closed done" in told
