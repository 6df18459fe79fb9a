"""`layby case encode CASE.json` and `layby case decode CODE`: a case as a short text, and back."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pwa.app.carry import case_code, complaint
from pwa.app.content import name_of
from pwa.app.evidence.complaints import as_text
from pwa.app.kinds.job import actuator
from pwa.app.kinds.names import outcome_label
from pwa.engine.case_code import checked_text, codec
from pwa.engine.evidence import case as cases
from pwa.engine.evidence import truck
from pwa.engine.evidence.truck import APART, ASSEMBLED
from server import content
from server.commands.isolate import EXAMPLE, read_case

if TYPE_CHECKING:
    from pwa.app.shapes import CaseCode

PLACE = "bay"  # as `layby isolate` takes it where a case does not say


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("case", help="a case as a short text with check symbols, and back")
    ways = parser.add_subparsers(title="ways", metavar="WAY", required=True)
    encode = ways.add_parser(
        "encode",
        help="the code of a case",
        description="The case code of a case: its drive, place and findings. Tools and prices are not in it.",
        epilog=EXAMPLE,
    )
    encode.add_argument("case", type=Path, help="the case as JSON, as `layby isolate` reads it")
    encode.set_defaults(run=run_encode)
    decode = ways.add_parser(
        "decode",
        help="the case of a code",
        description="What a case code says. One wrong character, or two swapped, are named and mended.",
        epilog="layby case decode 1QN1 QHH8 9W4D. With --json, what it prints is a CASE.json.",
    )
    decode.add_argument("code", nargs="+", help="the code; spaces, dashes and case do not count")
    decode.set_defaults(run=run_decode)
    for way in (encode, decode):
        way.add_argument("--json", action="store_true", help="everything as JSON")


def run_encode(options: argparse.Namespace) -> int:
    answers, known = read_case(options.case)
    here, known_content = cases.situation(known), content.load()
    findings = [
        _said(finding, answer, here, known_content["model"]) for finding, answer in sorted(answers.items())
    ]
    carried = complaint.carried(known.get("complaints") or [cases.COMPLAINT], known_content, ASSEMBLED)
    taken = [said["finding"] for said in carried]
    findings = carried + [said for said in findings if said["finding"] not in taken]
    drive, place = known.get("drive", cases.DRIVES[0]), known.get("place", PLACE)
    code = codec.encode(drive, place, findings, _table())
    groups = checked_text.groups(code)
    print(json.dumps({"code": code, "groups": groups}) if options.json else " ".join(groups))
    return 0


def run_decode(options: argparse.Namespace) -> int:
    case = codec.decode(" ".join(options.code), _table())
    complaints, answers = complaint.read(case, content.load())
    findings = {said["finding"]: _answer(said) for said in answers}
    told = {**case, "complaints": complaints, "findings": findings}
    print(json.dumps(told, indent=1, ensure_ascii=False) if options.json else _told(case))
    return 0


def _table() -> "CaseCode":
    return content.load()["case_code"]


def _said(finding: str, answer: str | dict[str, Any], here: cases.Situation, model: Any) -> codec.Said:
    given = {} if isinstance(answer, str) else answer
    if not all(isinstance(weight, int | float) for weight in given.get("weights", {}).values()):
        raise ValueError(f"findings, {finding}: weights are numbers.")
    seen = given if "opened" in given or "state" in given else {"opened": here["opened"]}
    known = [item for item in model["variables"] if item["name"] == finding and item["kind"] == "finding"]
    return {
        "finding": finding,
        "outcome": cases.outcome(answer),
        "state": truck.seen_state(known[0], seen, model["openings"]) if known else ASSEMBLED,
        "weights": given.get("weights", {}),
    }


def _answer(said: codec.Said) -> dict[str, Any]:
    answer: dict[str, Any] = {"outcome": said["outcome"], "state": said["state"]}
    if said["state"] not in (ASSEMBLED, APART):
        answer = {"outcome": said["outcome"], "opened": [said["state"]]}
    return {**answer, "weights": said["weights"]} if said["weights"] else answer


def _told(case: codec.Case) -> str:
    known = content.load()
    lines = [f"Character {item['at']}: not {item['read']}, but {item['meant']}" for item in case["mended"]]
    lines += [" ".join(checked_text.groups(case["code"])), f"{actuator(case['drive'])}, {case['place']}"]
    complaints, answers = complaint.read(case, known)
    lines.append(f"Complaint: {as_text(complaints, known)}")
    for said in answers:
        label = outcome_label(known, said["finding"], said["outcome"])
        state = case_code.seen(said["state"], known)
        seen = f" ({state})" if state else ""
        lines.append(f"  {name_of(known['findings'], said['finding'])}: {label}{seen}")
    if case["newer"]:
        lines.append(f"{case['newer']} more that only a newer version knows.")
    return "\n".join(lines)
