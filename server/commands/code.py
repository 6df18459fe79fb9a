"""`layby code`: a new one-time code, for a phone or for a browser."""

import argparse
import json
import sys

from server import address, settings

PURPOSES = ("phone", "desk", "viewer", "setup")


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "code",
        help="print a new one-time code for a phone or a browser",
        description="Print a new one-time code. The server may be running; LAYBY_DATA names its data folder.",
        epilog="phone: enrols one phone; with a link, if LAYBY_URL is an address that a phone can use. desk,"
        " viewer: sign in without the passphrase. setup: a link that sets the desk's passphrase, when nobody"
        " knows it any more. Example: layby code setup",
    )
    command.add_argument("purpose", choices=PURPOSES, help="what the code is for")
    command.add_argument("--json", action="store_true", help="print JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    from server.serve import setup_link
    from server.store.shop import Shop

    chosen = settings.from_environment()
    here = Shop(chosen)
    code = here.new_code(options.purpose)
    here.close()
    said = {"code": code, "minutes": chosen.code_minutes}
    if options.purpose == "setup":
        said["link"] = setup_link(chosen, code)
    if options.purpose == "phone":
        said |= _way_in(chosen, code)
    if options.json:
        print(json.dumps(said))
        return
    print(said["link"] if options.purpose == "setup" else code)
    if options.purpose == "phone":  # beside the code, so that a script gets the code alone
        words = f"Link: {said['link']}" if "link" in said else f"No link: {said['why_not']} {address.HOW}"
        print(words, file=sys.stderr)


def _way_in(chosen: settings.Settings, code: str) -> dict[str, str]:
    why = address.why_not(chosen.address)
    return {"why_not": why} if why else {"link": address.phone_link(chosen.address, code)}
