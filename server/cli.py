"""The command `layby`; each subcommand is a module in server/commands."""

import argparse
import importlib
import os
import sys
from collections.abc import Sequence
from importlib import metadata

COMMANDS = (
    "build", "dev", "new", "serve", "code", "check", "doctor", "backup", "restore", "isolate", "network",
    "codes", "calc", "log", "sweep", "case", "clocking",
)  # fmt: skip


def parser() -> argparse.ArgumentParser:
    """Every command. A module adds itself: `add(subparsers)` sets `run` to a function."""
    top = argparse.ArgumentParser(
        prog="layby",
        description="Offline notebook and sync server for diesel technicians facing a VGT complaint.",
    )
    top.add_argument("--version", action="version", version=f"layby {metadata.version('layby')}")
    subparsers = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name in COMMANDS:
        importlib.import_module(f"server.commands.{name}").add(subparsers)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command. What the user gave it and it cannot take, a ValueError, is shown as one sentence."""
    options = parser().parse_args(arguments)
    try:
        status = int(options.run(options) or 0)
        sys.stdout.flush()  # here, so that a reader who has left is noticed here
    except ValueError as error:
        print(f"layby: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:  # who reads has enough, as `head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except KeyboardInterrupt:
        return 130
    return status
