"""`layby serve`: the shop's server."""

import argparse

from server import settings


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "serve",
        help="run the shop's server",
        description="Serve the phone's app, take and merge what phones send, and show the desk.",
        epilog="LAYBY_DATA names the data folder (default ~/.local/share/layby), LAYBY_HOST the address to"
        " listen on (default 127.0.0.1), LAYBY_PORT the port (default 8700), LAYBY_URL the address that"
        " phones and browsers use when a proxy stands before the server, LAYBY_DEVICE_GB how many GB of"
        " photos one phone may send (default 8). Logs are lines of JSON on standard error.",
    )
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    from server.serve import serve  # here, so that `layby --help` does not load the whole server

    serve(settings.from_environment())
