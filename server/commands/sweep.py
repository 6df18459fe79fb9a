"""`layby sweep`: command against position, from typed rows or out of a log."""

import argparse
import json
from pathlib import Path

from pwa.engine.logs import pair
from server import content
from server.commands import log, worksheet

EXAMPLE = 'layby sweep stepped-sweep rows="0, 2; 50, 51; 100, 98; 50, 54; 0, 3"'
OF_A_LOG = "command-trace"


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = worksheet.add(
        subparsers,
        "sweep",
        "sweep",
        "Command against position: travel, play, times, sticking, jumps.",
        EXAMPLE,
    )
    parser.add_argument("--log", type=Path, metavar="FILE", help="take command and position from a log")
    log.add_mapping(parser)
    typed = parser.get_default("run")
    parser.set_defaults(run=lambda options: run(options) if options.log else typed(options))


def run(options: argparse.Namespace) -> int:
    """The trace of a log; what is typed beside it are limits."""
    typed = [text for text in (options.worksheet, *options.typed) if text and text != OF_A_LOG]
    measure = next(item for item in content.load()["measures"] if item["key"] == OF_A_LOG)
    reader = log.read(options.log, options.map)
    found = reader.finish()
    verdict = worksheet.calculate(measure, typed, {"rows": pair.samples(reader)})
    verdict["warnings"] += pair.doubts(found)
    print(
        json.dumps(verdict, indent=1, ensure_ascii=False)
        if options.json
        else "\n".join(worksheet.as_text(verdict))
    )
    return 0
