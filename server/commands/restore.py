"""`layby restore`: a shop out of a backup."""

import argparse
import json
from pathlib import Path

from server import settings


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "restore",
        help="make the shop of a backup",
        description="Make the shop of a backup in the folder LAYBY_DATA, which must be empty or not exist,"
        " and check it. Phones go on with it by themselves and send again what the backup does not have.",
        epilog="Example: LAYBY_DATA=/srv/layby-new layby restore /mnt/disk/layby-monday.zip",
    )
    command.add_argument("file", type=Path, help="a file that `layby backup` wrote")
    command.add_argument("--json", action="store_true", help="print what the check found as JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    from server.store.backup import restore

    chosen = settings.from_environment()
    report = restore(options.file, chosen)
    if options.json:
        print(json.dumps(report._asdict()))
    else:
        print(f"{chosen.data}: {report.records} records of {report.devices} devices, {report.photos} photos")
