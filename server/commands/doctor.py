"""`layby doctor`: what is missing, and how to mend it."""

import argparse
import json

from server import settings


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "doctor",
        help="what is missing in the shop's server, and how to mend it",
        description="Look at the address, proxy, backup, disk, clock, permissions, database, passphrase and"
        " phones, and say of each whether it is well or how to mend it. Changes nothing; the server may be"
        " running. Ends with 1 when something must be mended.",
        epilog="Example: LAYBY_DATA=/srv/layby LAYBY_URL=https://layby.example layby doctor",
    )
    command.add_argument("--json", action="store_true", help="print JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    from server.doctor.examine import examine

    findings = examine(settings.from_environment())
    if options.json:
        print(json.dumps([{**each._asdict(), "ok": not each.mend} for each in findings]))
    else:
        for each in findings:
            line = f"{'mend' if each.mend else 'ok':4}  {each.about}: {each.found}"
            print(f"{line.rstrip('.')}. {each.mend}" if each.mend else line)
    return 1 if any(each.mend for each in findings) else 0
