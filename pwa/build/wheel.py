"""`python -m pwa.build.wheel [FOLDER]`: builds the app, then one wheel of it and the server.

Where the wheel is installed there is no Node, no compiler and no checkout. What goes in stands in
pyproject.toml. The same input gives the same bytes.
"""

import argparse
import subprocess
import sys
from pathlib import Path

from pwa.build.build import build

ROOT = Path(__file__).parent.parent.parent


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m pwa.build.wheel", description=__doc__)
    parser.add_argument("folder", nargs="?", default=".", help="where to write it (default: here)")
    target = Path(parser.parse_args().folder).absolute()
    build(say=lambda line: print(line, file=sys.stderr, flush=True))
    pack = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(target)]
    return subprocess.run(pack, cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
