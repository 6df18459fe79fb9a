"""`layby serve`: the shop's server."""

import argparse

from server import settings


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "serve",
        help="run the shop's server",
        description="Serve the phone's app, take and merge what phones send, and show the desk.",
        epilog="LAYBY_DATA names the data folder (default ~/.local/share/layby), LAYBY_HOST the address to"
        " listen on (default 127.0.0.1), LAYBY_PORT the port (default 8700).",
    )
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    from server.serve import serve  # here, so that `layby --help` does not load the whole server

    serve(settings.from_environment())
