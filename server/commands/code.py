"""`layby code`: a new one-time code, for a phone or for a person at the desk."""

import argparse
import json
import sys

from server import address, settings

PURPOSES = ("phone", "desk", "viewer", "setup")


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "code",
        help="print a new one-time code for a phone or a person",
        description="Print a new one-time code. The server may be running; LAYBY_DATA names its data folder.",
        epilog="phone: enrols one phone; with a link, if LAYBY_URL is an address that a phone can use. setup:"
        " a link that makes an owner, also when no owner can sign in any more. desk, viewer: a link that lets"
        " in somebody who writes, or only reads. Example: layby code setup",
    )
    command.add_argument("purpose", choices=PURPOSES, help="what the code is for")
    command.add_argument("--json", action="store_true", help="print JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    from server.desk.entrance import link
    from server.store.shop import Shop

    chosen = settings.from_environment()
    here = Shop(chosen)
    code = here.new_code(options.purpose)
    here.close()
    said = {"code": code, "minutes": chosen.code_minutes}
    is_phone = options.purpose == "phone"
    said |= _way_in(chosen, code) if is_phone else {"link": link(chosen.address, options.purpose, code)}
    if options.json:
        print(json.dumps(said))
        return
    print(code if is_phone else said["link"])
    if is_phone:  # beside the code, so that a script gets the code alone
        words = f"Link: {said['link']}" if "link" in said else f"No link: {said['why_not']} {address.HOW}"
        print(words, file=sys.stderr)


def _way_in(chosen: settings.Settings, code: str) -> dict[str, str]:
    why = address.why_not(chosen.address)
    return {"why_not": why} if why else {"link": address.phone_link(chosen.address, code)}
