"""`layby restore`: a shop out of a backup."""

import argparse
import json
from pathlib import Path

from server import settings
from server.commands.backup import DAMAGED


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "restore",
        help="make the shop of a backup",
        description="Make the shop of a backup in the folder LAYBY_DATA, which must be empty or not exist,"
        " and check it. Phones go on with it by themselves and send again what the backup does not have."
        f" Ends with {DAMAGED} when something was damaged in the shop that was saved: it is named, the rest"
        " is restored, and phones are asked for it.",
        epilog="Example: LAYBY_DATA=/srv/layby-new layby restore /mnt/disk/layby --date 2026-11-27",
    )
    command.add_argument("source", type=Path, help="a file or a folder that `layby backup` wrote")
    command.add_argument("--date", default="", help="of a folder: the day to restore (default: the newest)")
    command.add_argument("--anyway", action="store_true", help=argparse.SUPPRESS)  # it always does
    command.add_argument("--json", action="store_true", help="print what the check found as JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    from server.backup.restore import restore

    chosen = settings.from_environment()
    report = restore(options.source, chosen, options.date)
    if options.json:
        print(json.dumps(report._asdict()))
        return DAMAGED if report.problems else 0
    for line in (*report.problems, *(f"({note})" for note in report.notes)):
        print(line)
    print(f"{chosen.data}: {report.records} records of {report.devices} devices, {report.photos} photos")
    print("Owners sign in as before. Everybody else and every phone waits for a yes at the desk.")
    return DAMAGED if report.problems else 0
