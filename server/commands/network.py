"""`layby network`: the compiled fault model, for checking it with a library of your own.

`layby isolate` enters what is given of a job beside the case's findings: the complaint (`power-lost`: yes),
and that causes of another type of actuator are absent (no). Where the type is not known it adds up what the
networks of all types say, each with its factor (`actuators` in the JSON).
"""

import argparse
import json

from server import content


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("network", help="the compiled fault model", description=__doc__)
    parser.add_argument(
        "--format",
        choices=("bif", "json"),
        default="bif",
        help="open BIF text (default), or the junction tree",
    )
    parser.add_argument(
        "--json", action="store_const", const="json", dest="format", help="same as --format json"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    if options.format == "json":
        print(json.dumps(content.load()["model"]))
    else:
        print(content.network(), end="")
    return 0
