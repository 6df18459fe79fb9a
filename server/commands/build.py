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
    from pwa.build.build import build  # here, so that `layby --help` does not load the whole build

    build(say=lambda line: print(line, file=sys.stderr, flush=True))
