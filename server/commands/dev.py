"""`layby dev`: the demo's shop for who works on Layby, built and served anew after every change."""

import argparse
import os
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "dev",
        help="work on Layby: build and serve the demo's shop after every change (needs a checkout)",
        description="Build and serve the invented shop in demo/data, and do so again whenever a file changes."
        " Phones and the desk take each build at once, and show where Python failed. Needs a checkout.",
        epilog="LAYBY_HOST names the address to listen on (default 127.0.0.1), LAYBY_PORT the port (8700).",
    )
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    if not ((ROOT / "demo/dev.py").is_file() and (ROOT / "content").is_dir()):
        raise ValueError("`layby dev` builds Layby from its source, so it needs a checkout of it.")
    os.chdir(ROOT)
    os.execv(sys.executable, [sys.executable, "-m", "demo.dev"])
