"""`layby isolate CASE.json`: where the evidence of a case stands, and what to check next."""

import argparse
import json
from pathlib import Path
from typing import Any

from pwa.build import content, model
from pwa.build.build import CONTENT
from pwa.engine import advice

PLACES = ("roadside", "bay", "turbo off")
DRIVES = ("electric", "pneumatic", "hydraulic")
SHOWN = 6


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser(
        "isolate",
        help="where the evidence of a case stands",
        description=__doc__,
        epilog='CASE.json: {"drive": "electric", "place": "bay", "findings": {"supply-drop": "ok"}}',
    )
    parser.add_argument("case", type=Path, help="the case as JSON")
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    found = advice.isolate(model.compile(content.load(CONTENT)), *_case(options.case))
    print(json.dumps(found, indent=1, ensure_ascii=False) if options.json else _told(found))
    return 0


def _case(path: Path) -> tuple[dict[str, str], dict[str, Any]]:
    """Findings and situation of a case file.

    Raises:
        ValueError: the file is missing, no JSON, or lacks what a case needs.
    """
    try:
        case = json.loads(path.read_text("utf-8"))
    except OSError as error:
        raise ValueError(f"{path}: {error.strerror}") from None
    except ValueError as error:
        raise ValueError(f"{path} is not JSON: {error}") from None
    if not isinstance(case, dict) or not isinstance(case.get("findings"), dict):
        raise ValueError(f"{path}: a case has “findings”, a table of finding and outcome.")
    drive, place = case.get("drive", "electric"), case.get("place", "bay")
    if drive not in DRIVES or place not in PLACES:
        raise ValueError(f"{path}: drive is one of {', '.join(DRIVES)}; place one of {', '.join(PLACES)}.")
    situation = {
        "drive": drive,
        "place": place,
        "state": case.get("state", "assembled"),
        "skipped": case.get("skipped", []),
    }
    return case["findings"], situation


def _told(found: advice.Isolation) -> str:
    lines = [found["sure"]]
    lines += [f"  {key:<11} {100 * p:5.1f} %" for key, p in found["standing"].items()]
    lines += [f"  {'upstream':<11} {100 * found['upstream']:5.1f} %", "", "Suspects"]
    lines += [f"  {100 * item['p']:5.1f} %  {item['name']}" for item in found["suspects"][:SHOWN]]
    lines += ["", "Next checks"]
    lines += [
        f"  {item['name']} ({item['minutes']:g} min). {item['why']}" for item in found["checks"][:SHOWN]
    ]
    lines += ["", *(reason["sentence"] for reason in found["reasons"])]
    return "\n".join([*lines, found["conflict"]]).rstrip()
