"""`layby log FILE`: what is in a recording of a drive or of the bus."""

import argparse
import json
from pathlib import Path

from pwa.engine.logs.reader import Log, Reader
from pwa.engine.logs.series import Signal

PIECE = 1 << 20
SHOWN = 12  # messages that are listed


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser(
        "log",
        help="what is in a log: signals, codes, damaged lines",
        description=(
            "Says what is in a log: a table (CSV with any delimiter, decimal point or comma) or frames "
            "of a J1939 bus (candump's file and console forms, ASC, the CSV of python-can, other tables)."
        ),
        epilog='example: layby log drive.csv --map vgt-command="Output 3" --map time=1',
    )
    parser.add_argument("file", type=Path, help="the log")
    add_mapping(parser)
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def add_mapping(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--map",
        action="append",
        default=[],
        metavar="SIGNAL=COLUMN",
        help="take a table's column, by name or number, for this signal; nothing for none; or time-unit=ms",
    )


def run(options: argparse.Namespace) -> int:
    log = read(options.file, options.map).finish()
    print(json.dumps(log, indent=1, ensure_ascii=False) if options.json else "\n".join(_told(log)))
    return 0


def read(path: Path, mapped: list[str]) -> Reader:
    """A reader that has taken the whole file.

    Raises:
        ValueError: the file cannot be opened or is no log, or a mapping is none.
    """
    mapping = {}
    for text in mapped:
        role, equals, column = text.partition("=")
        if not equals:
            raise ValueError(f"“{text}” is not SIGNAL=COLUMN.")
        mapping[role.strip()] = column.strip()
    reader = Reader(mapping)
    try:
        with path.open("rb") as file:
            while piece := file.read(PIECE):
                reader.feed(piece)
    except OSError as error:
        raise ValueError(f"{path}: {error.strerror}") from None
    return reader


def _told(log: Log) -> list[str]:
    length = f"{log['duration']:.1f} s" if log["time_unit"] == "s" else "no times"
    lines = [f"{log['form_name'][0].upper()}{log['form_name'][1:]}: {log['rows']} rows, {length}.", ""]
    lines += ["Signals                       count      least       most      first       last  unit"]
    for item in log["signals"]:
        numbers = "".join(
            f"{'-' if value is None else f'{value:.5g}':>11}"
            for value in (item["least"], item["most"], item["first"], item["last"])
        )
        lines.append(f"  {item['name'][:25]:<25}{item['count']:>8}{numbers}  {item['unit']}".rstrip())
        lines += [f"      {text}" for text in (item["source"], _doubt(item)) if text]
    if log["columns"]:
        lines += ["", "Columns"]
        lines += [f"  {column['name']:<30}{column['role'] or '-'}" for column in log["columns"]]
    if log["messages"]:
        lines += ["", "Messages heard most"]
        lines += [
            f"  PGN {item['pgn']:<7}from {item['sender']:<5}{item['count']:>8}"
            for item in log["messages"][:SHOWN]
        ]
    lines += ["", *_codes(log)] if log["form"] != "table" else []
    lines += ["", *_damage(log), *(f"Mind: {warning}" for warning in log["warnings"])]
    return lines


def _doubt(item: Signal) -> str:
    parts = [f"scale: {item['standing']}"] if item["standing"] else []
    if item["errors"]:
        parts.append(f"the sender reports an error {item['errors']} times")
    if item["missing"]:
        parts.append(f"no value {item['missing']} times")
    return "; ".join(parts)


def _codes(log: Log) -> list[str]:
    if not log["codes"]:
        return ["No trouble codes are in it."]
    lines = ["Trouble codes"]
    for code in log["codes"]:
        count = "" if code["occurrences"] is None else f", {code['occurrences']} times"
        doubt = "" if len(code["candidates"]) == 1 else f", or SPN {code['candidates'][1:]}"
        lines.append(
            f"  {code['key']:<12}{'active' if code['active'] else 'earlier'}, from {code['sender']}{count}, "
            f"{code['first']:.1f} to {code['last']:.1f} s{doubt}"
        )
    return lines


def _damage(log: Log) -> list[str]:
    damaged = log["damaged"]
    if not damaged["count"]:
        return ["No line is damaged."]
    lines = [f"Damaged lines: {damaged['count']}"]
    return lines + [f"  {item['line']}: {item['text']}  ({item['why']})" for item in damaged["first"]]
