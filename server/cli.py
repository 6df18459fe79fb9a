"""The command `layby`; each subcommand is a module in server/commands."""

import argparse
import importlib
import importlib.util
import sys
from collections.abc import Sequence

COMMANDS = (
    "build", "serve", "code", "check", "backup", "restore", "isolate", "network", "codes", "circuits",
    "air", "heat", "fasteners", "log", "sweep", "case", "clocking",
)  # fmt: skip


def parser() -> argparse.ArgumentParser:
    """Every command that is installed. A module adds itself: `add(subparsers)` sets `run` to a function."""
    top = argparse.ArgumentParser(
        prog="layby",
        description="Offline notebook and sync server for diesel technicians facing a VGT complaint.",
    )
    subparsers = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name in COMMANDS:
        module = f"server.commands.{name}"
        if importlib.util.find_spec(module):
            importlib.import_module(module).add(subparsers)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command. A ValueError is a wrong input of the user and is shown as one sentence."""
    options = parser().parse_args(arguments)
    try:
        return int(options.run(options) or 0)
    except ValueError as error:
        print(f"layby: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130
