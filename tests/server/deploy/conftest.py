"""A machine to install Layby on, in a folder: other places than the real ones, and no network."""

import os
import shutil
import subprocess
import sys
import sysconfig
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.helpers.processes import BARE, free_port

ROOT = Path(__file__).parents[3]
DEPLOY = ROOT / "server" / "deploy"
# What systemctl does for one service: the process runs beside the script, and its end is waited for.
CTL = """#!/bin/sh
set -eu
pid="$LAYBY_HOME/pid"
case "$1" in
  start)
    set -a; . "$LAYBY_ENV"; set +a
    "$LAYBY_HOME/current/bin/layby" serve >>"$LAYBY_HOME/log" 2>&1 & echo $! >"$pid" ;;
  stop)
    [ -f "$pid" ] || exit 0
    kill "$(cat "$pid")" 2>/dev/null || true
    while kill -0 "$(cat "$pid")" 2>/dev/null; do sleep 0.05; done
    rm "$pid" ;;
esac
"""
# What `python3` is on that machine: it makes an environment by copying one that is made already, in a tenth
# of a second instead of five. All else the real Python does.
PYTHON = """#!/bin/sh
if [ "$1 $2" = "-m venv" ]; then exec cp -a "{made}" "$3"; fi
exec "{python}" "$@"
"""
# What `python -m pip install` is there: a wheel is unpacked and compiled once, and each environment gets
# links to its files, in a tenth of a second instead of four. The real pip is used in test_walk.py.
PIP = r"""
import compileall, pathlib, shutil, sys, sysconfig, zipfile
options, given = [word for word in sys.argv[2:] if word.startswith("-")], pathlib.Path(sys.argv[-1])
if "--requirement" in options:
    sys.exit(bool(given.read_bytes()))
unpacked = pathlib.Path(__file__).parents[1] / "unpacked" / given.name
if not unpacked.exists():
    zipfile.ZipFile(given).extractall(f"{unpacked}.part")
    compileall.compile_dir(f"{unpacked}.part", quiet=1)
    pathlib.Path(f"{unpacked}.part").rename(unpacked)
shutil.copytree(unpacked, sysconfig.get_path("purelib"), copy_function=shutil.os.link, dirs_exist_ok=True)
script = pathlib.Path(sys.executable).with_name("layby")
script.write_text(f"#!{sys.executable}\nimport sys; from server.cli import main; sys.exit(main())\n")
script.chmod(0o755)
"""
Change = Callable[[str, bytes], bytes]


def tool(name: str) -> str:
    """Where a program of the system is. In CI nothing may be missing."""
    found = shutil.which(name, path=f"{os.environ['PATH']}:/usr/sbin:/sbin")
    if not found:
        (pytest.fail if os.environ.get("LAYBY_REQUIRE_BROWSERS") else pytest.skip)(f"{name} is not installed")
    return found


def make_wheel(
    folder: Path, version: str, dist: Path, change: Change = lambda name, content: content
) -> Path:
    """A wheel of this checkout as a shop gets it, with the packages of the tests instead of those of the net.

    Its `requirements.txt` is empty, and a line in a .pth file lends it what is installed here.
    """
    files = {
        path.relative_to(ROOT).as_posix(): path.read_bytes()
        for part in ("server", "pwa/engine", "pwa/app", "pwa/templates")
        for path in (ROOT / part).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    files |= {f"pwa/dist/{path.relative_to(dist).as_posix()}": path.read_bytes()
              for path in dist.rglob("*") if path.is_file()}  # fmt: skip
    files |= {
        "pwa/__init__.py": b"",
        "server/deploy/requirements.txt": b"",
        **{path.name: path.read_bytes() for path in BARE.glob("*.py")},
        "lent.pth": sysconfig.get_path("purelib").encode(),
    }
    about = f"layby-{version}.dist-info"
    files |= {
        f"{about}/METADATA": f"Metadata-Version: 2.1\nName: layby\nVersion: {version}\n".encode(),
        f"{about}/WHEEL": b"Wheel-Version: 1.0\nGenerator: test\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
        f"{about}/entry_points.txt": b"[console_scripts]\nlayby = server.cli:main\n",
    }
    files = {name: change(name, content) for name, content in files.items()}
    files[f"{about}/RECORD"] = "".join(f"{name},,\n" for name in [*files, f"{about}/RECORD"]).encode()
    made = folder / f"layby-{version}-py3-none-any.whl"
    with zipfile.ZipFile(made, "w") as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    return made


class Machine:
    """A bare server: `root` stands for /."""

    def __init__(self, root: Path, python: Path) -> None:
        self.root, self.port = root, free_port()
        self.home, self.data, self.backups = (
            root / "opt/layby",
            root / "var/lib/layby",
            root / "var/backups/layby",
        )
        self.env = root / "etc/layby/layby.env"
        self.url = f"http://127.0.0.1:{self.port}"
        for folder in (self.home, self.data.parent, self.env.parent, root / "etc/caddy"):
            folder.mkdir(parents=True)
        ctl = root / "ctl"
        ctl.write_text(CTL)
        ctl.chmod(0o755)
        self._environment = {
            "PATH": os.environ["PATH"], "LANG": "C.UTF-8", "HOME": str(root),
            "LAYBY_ROOT": str(root), "LAYBY_HOME": str(self.home), "LAYBY_ENV": str(self.env),
            "LAYBY_CTL": str(ctl), "LAYBY_PYTHON": str(python), "LAYBY_PIP": "--no-index",
            "LAYBY_WAIT": "60",
        }  # fmt: skip

    def set_up(self, **settings: str) -> None:
        """The settings as the owner would write them, but for this user and a free port."""
        lines = {
            "LAYBY_DATA": str(self.data),
            "LAYBY_BACKUP": str(self.backups),
            "LAYBY_PORT": str(self.port),
        }
        self.env.write_text("".join(f"{name}={value}\n" for name, value in {**lines, **settings}.items()))

    def run(self, *command: str | Path, status: int = 0) -> str:
        """Both of its outputs, if it ended as it should. The server it starts holds no pipe open."""
        with (self.root / "said").open("w+") as said:
            done = subprocess.run(
                [str(word) for word in command],
                env=self._environment, cwd=self.root, stdout=said, stderr=said, stdin=subprocess.DEVNULL,
            )  # fmt: skip
            said.seek(0)
            text = said.read()
        assert done.returncode == status, text
        return text

    def layby(self, *words: str, status: int = 0) -> str:
        return self.run(self.root / "usr/local/bin/layby", *words, status=status)

    def update(self, wheel: Path, status: int = 0) -> str:
        return self.run("sh", self.root / "usr/local/sbin/layby-update", wheel, status=status)

    def rollback(self, *words: str, status: int = 0) -> str:
        return self.run("sh", self.root / "usr/local/sbin/layby-rollback", *words, status=status)

    @property
    def version(self) -> str:
        return self.layby("--version").strip()


@pytest.fixture
def bare(tmp_path: Path) -> Iterator[Machine]:
    """All of it real, as on a shop's server."""
    yield from running(Machine(tmp_path / "machine", Path(sys.executable)))


@pytest.fixture
def machine(tmp_path: Path, python: Path) -> Iterator[Machine]:
    """Its environments are copies and its pip a small one; what is done with them is real."""
    yield from running(Machine(tmp_path / "machine", python))


def running(machine: Machine) -> Iterator[Machine]:
    yield machine
    machine.run(machine.root / "ctl", "stop")


@pytest.fixture(scope="session")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("python")
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", folder / "made"], check=True)
    (folder / "pip").mkdir()
    (folder / "pip/__main__.py").write_text(PIP)
    (packages,) = (folder / "made").glob("lib/python*/site-packages")
    (packages / "pip.pth").write_text(str(folder))
    program = folder / "python3"
    program.write_text(PYTHON.format(made=folder / "made", python=sys.executable))
    program.chmod(0o755)
    return program


@pytest.fixture(scope="session")
def wheels(tmp_path_factory: pytest.TempPathFactory, dist: Path) -> Callable[..., Path]:
    """Makes wheels, each version once."""
    folder, made = tmp_path_factory.mktemp("wheels"), {}

    def wheel(version: str, change: Change = lambda name, content: content) -> Path:
        if version not in made:
            made[version] = make_wheel(folder, version, dist, change)
        return made[version]

    return wheel
