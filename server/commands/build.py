"""`layby build`: content, templates and code to what phones install."""

import argparse
import sys


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "build",
        help="build the phone's app into pwa/dist",
        description="Compile content, fault model, templates, engine and app into pwa/dist. The same input"
        " gives the same bytes. Bad content stops the build with file, line and what is wrong.",
    )
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    try:
        from pwa.build.build import build  # here: only a checkout has it, and only the build needs it
    except ModuleNotFoundError as error:
        raise ValueError(
            f"Building needs a checkout of Layby with its extra “build” installed ({error.name} is missing);"
            " what is installed here is built already."
        ) from None
    build(say=lambda line: print(line, file=sys.stderr, flush=True))
