"""`layby check`: whether everything that is stored is whole."""

import argparse
import json
from typing import TYPE_CHECKING

from server import settings

if TYPE_CHECKING:
    from server.store.shop import Shop

SHORTEST = 16  # hex digits that a report prints


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "check",
        help="whether everything that is stored is whole",
        description="Check the database, every device's chain of records, every hash, photo and signature."
        " Changes nothing; the server may be running. Ends with 1 when something is lost or was altered."
        " With --repair, while the server is stopped: save what can be read of a damaged database, set"
        " damaged records and photos aside, take photos back from the last backup, ask phones for the rest."
        " Nothing is deleted.",
        epilog="Example: LAYBY_DATA=/srv/layby layby check --repair",
    )
    command.add_argument(
        "--printed",
        nargs=3,
        metavar=("DEVICE", "ENTRY", "HASH"),
        help="also whether what a report prints under “Proof of this record” still holds; write the hash's"
        " digits without spaces",
    )
    command.add_argument("--repair", action="store_true", help="mend what can be mended")
    command.add_argument("--json", action="store_true", help="print JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    from server.store.check import check
    from server.store.shop import Shop

    chosen = settings.from_environment()
    if not (chosen.data / "layby.db").is_file():
        raise ValueError(f"There is no shop in {chosen.data}; LAYBY_DATA names its folder.")
    done: list[str] = []
    if options.repair:
        from server.backup.repair import repair

        done, report = repair(chosen)
    else:
        here = Shop(chosen)
        report = check(here)
        if options.printed:
            report.problems.extend(_printed(here, *options.printed))
        here.close()
    if options.json:
        print(json.dumps({**report._asdict(), **({"repaired": done} if options.repair else {})}))
    else:
        for line in done:
            print(f"repaired: {line}")
        for line in (*report.problems, *(f"({note})" for note in report.notes)):
            print(line)
        print(f"{report.records} records of {report.devices} devices, {report.photos} photos:", end=" ")
        print(f"{len(report.problems)} problems" if report.problems else "all whole")
    return 1 if report.problems else 0


def _printed(here: "Shop", device: str, entry: str, digits: str) -> list[str]:
    from server.store import proof

    if not (entry.isascii() and entry.isdecimal()) or len(digits) < SHORTEST:
        what = f"a device, an entry's number, and {SHORTEST} or more digits of its hash"
        raise ValueError(f"--printed takes {what}.")
    wrong = proof.printed(here.store, device, int(entry), digits.lower())
    return [wrong] if wrong else []
