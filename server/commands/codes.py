"""`layby codes`: what typed trouble codes, bytes of DM1 and DM2 messages or frames in hex say."""

import argparse
import json
from typing import TYPE_CHECKING, Any

from pwa.app.content import name_of
from pwa.app.evidence import code_meaning
from pwa.engine.codes import dtc, j2012
from server import content
from server.commands import given

if TYPE_CHECKING:
    from pwa.app.shapes import Codes

EXAMPLE = 'layby codes "14 FF 81 02 07 02 66 00 10 01"'
WHEN = {"DM1": "active", "DM2": "were active"}


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser(
        "codes",
        help="what trouble codes, DM1 and DM2 messages mean",
        description="Pairs (641/7), codes (P0299, 0x0299), bytes of a message, or frames (18FECA00#04FF...).",
        epilog=f"example: {EXAMPLE}",
    )
    parser.add_argument(
        "typed", nargs="+", metavar="CODES", help="what the display shows; - reads standard input"
    )
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    typed = given.standard_input() if options.typed == ["-"] else " ".join(options.typed)
    known = content.load()["codes"]
    read = dtc.reports(typed)
    reports = [
        {**report, "codes": [_meant(known, code) for code in report["codes"]]} for report in read["reports"]
    ]
    if options.json:
        print(json.dumps({"reports": reports, "problems": read["problems"]}, indent=1, ensure_ascii=False))
    else:
        lines = [line for report in reports for line in _told(report)]
        print("\n".join(lines + [f"Mind: {problem}" for problem in read["problems"]]))
    return 0


def _meant(known: "Codes", code: dtc.Code) -> dict[str, Any]:
    """A code with its meaning, or with one for each parameter that an old layout may mean, and its bytes."""
    readings: list[dtc.Code] = [
        {**code, "spn": spn, "key": f"{spn}/{code['fmi']}"} for spn in code["candidates"]
    ]
    meanings = []
    for reading in readings or [code]:
        meaning = code_meaning.of_code(known, reading)
        meanings.append({"key": reading["key"], **meaning, "answers": _answers(meaning)})
    two_bytes = j2012.to_bytes(code["key"]) if code["kind"] == "j2012" else []
    return {**code, "bytes": two_bytes, "meanings": meanings}


def _answers(meaning: code_meaning.Meaning) -> str:
    """The finding that a code answers, by name."""
    if not meaning["finding"]:
        return ""
    return f"; answers “{name_of(content.load()['findings'], meaning['finding'])}”"


def _told(report: dict[str, Any]) -> list[str]:
    lines = []
    if report["message"]:
        lines.append(f"{report['message']} from address {report['source']} ({WHEN[report['message']]})")
    if report["lamps"]:
        lines.append("Lamps: " + "; ".join(f"{name} {state}" for name, state in report["lamps"].items()))
    if not report["codes"]:
        lines.append("No code.")
    for code in report["codes"]:
        lines += _code_told(code)
    return lines


def _code_told(code: dict[str, Any]) -> list[str]:
    count = f", counted {code['occurrences']}" if code["occurrences"] is not None else ""
    lines = [
        f"{item['key']:<12}{item['text']} ({item['kind']}{count}){item['answers']}"
        for item in code["meanings"]
    ]
    if code["failure"] is not None:
        kind = j2012.failure(code["failure"]) or "not known here"
        lines.append(f"{'':<12}Failure type {code['failure']:02X}: {kind}.")
    if len(lines) > 1:
        lines.append(f"{'':<12}One code in an old layout: which of these it is, the bytes do not tell.")
    return lines
