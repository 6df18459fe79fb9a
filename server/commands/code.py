"""`layby code`: a new one-time code, for a phone or for the desk."""

import argparse
import json

from server import settings


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "code",
        help="print a new one-time code for a phone or for the desk",
        description="Print a new one-time code. The server may be running; LAYBY_DATA names its data folder.",
    )
    command.add_argument("purpose", choices=["phone", "desk"], help="what the code lets in")
    command.add_argument("--json", action="store_true", help="print JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    from server.shop import Shop

    chosen = settings.from_environment()
    here = Shop(chosen)
    code = here.new_code(options.purpose)
    here.close()
    print(json.dumps({"code": code, "minutes": chosen.code_minutes}) if options.json else code)
