"""`layby isolate CASE.json`: where the evidence of a case stands, what to check next, what to repair."""

import argparse
import json
from pathlib import Path
from typing import Any

from pwa.engine.evidence import advice, case, decide, sides
from pwa.engine.evidence.stops import Stop
from server import content
from server.commands import case_codes, given

PLACES = ("roadside", "bay", "turbo off")
HEATS = ("", "cold", "hot")
LISTS = ("skipped", "opened", "without", "lifted", "complaints")
NOT_OF_THE_TRUCK = ("findings", "codes", "no_other_codes")
SHOWN = 6
SMALL = 0.01  # a system outside the VGT that is less probable is not named
EXAMPLE = 'CASE.json: {"drive": "electric", "place": "bay", "findings": {"supply-drop": "ok"}}'
FIELDS = """
"drive" may be "not known". "complaints" are findings that the job is about, "power-lost" if none is named.
Beside these a case may say: "heat" (cold or hot), lists "opened" (keys of content/openings.yaml: what is off,
drained or disconnected), "without" (tools), "skipped" and "lifted" (stop rules that were put right),
"prices", "codes" as a display shows them and "no_other_codes": true. A finding may be a table of "outcome",
"opened" (what was off when it was seen) and "weights" (outcome: likelihood); a plain one was seen as the
truck stands now.
"""


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser(
        "isolate",
        help="where the evidence of a case stands",
        description=__doc__ + FIELDS,
        epilog=EXAMPLE,
    )
    parser.add_argument("case", type=Path, help="the case as JSON")
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    answers, known = read_case(options.case)
    compiled = content.load()["model"]
    found = advice.isolate(compiled, answers, known)
    _, repairs = advice.options(compiled, answers, known)
    if options.json:
        print(json.dumps({**found, "repairs": repairs}, indent=1, ensure_ascii=False))
    else:
        print(_told(found, repairs))
    return 0


def read_case(path: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    """Findings and situation of a case file.

    Raises:
        ValueError: the file is missing, no JSON, or lacks what a case needs.
    """
    read = given.json_of(path)
    if not isinstance(read, dict) or not isinstance(read.get("findings"), dict):
        raise ValueError(f"{path}: a case has “findings”, a table of finding and outcome.")
    for name, allowed in (("drive", case.DRIVES), ("place", PLACES), ("heat", HEATS)):
        if read.get(name, allowed[0]) not in allowed:
            raise ValueError(f"{path}: {name} is one of {', '.join(item for item in allowed if item)}.")
    for name in LISTS:
        if not isinstance(read.get(name, []), list):
            raise ValueError(f"{path}: {name} is a list.")
    for name, said in read["findings"].items():
        if not isinstance(said, str | dict):
            raise ValueError(f"{path}: findings, {name}: write an outcome, or a table with “outcome”.")
        if isinstance(said, dict) and not isinstance(said.get("weights", {}), dict):
            raise ValueError(f"{path}: findings, {name}: weights are a table of outcome and likelihood.")
    answers = {**case_codes.answers(read, str(path)), **read["findings"]}
    return answers, {key: value for key, value in read.items() if key not in NOT_OF_THE_TRUCK}


def _told(found: advice.Isolation, repairs: list[advice.Option]) -> str:
    names = {item["repair"]: item["name"] for item in repairs}
    plan = found["plan"]
    lines = [_stopped(stop) for stop in found["stops"]] + [found["sure"]]
    lines += [f"  {words:<18}{100 * found['standing'][key]:5.1f} %" for key, words in sides.STANDING]
    lines += [
        f"    {item['name']}: {100 * item['p']:.1f} %" for item in found["outside"] if item["p"] >= SMALL
    ]
    lines += [f"  {'Upstream':<18}{100 * found['upstream']:5.1f} %", "", "Suspects"]
    lines += [f"  {100 * item['p']:5.1f} %  {item['name']}" for item in found["suspects"][:SHOWN]]
    lines += ["", "Enough to decide." if found["enough"] else "Next checks"]
    lines += [
        f"  {item['name']} ({item['minutes']:g} min, saves {item['saves']:.0f}). {item['why']}"
        for item in found["checks"][:SHOWN]
    ]
    lines += ["", *_steps(plan, names)]
    lines += ["", "Each repair alone: cost, cures something, not well or comes back"]
    lines += [f"  {_row(item)}  {item['name']}" for item in repairs[:SHOWN]]
    lines += ["", *(reason["sentence"] for reason in found["reasons"])]
    return "\n".join([*lines, found["conflict"]]).rstrip()


def _stopped(stop: Stop) -> str:
    return f"{stop['name'].upper()}. {stop['title']}. {stop['why']} Ends when: {stop['lifts']}"


def _steps(plan: decide.Plan, names: dict[str, str]) -> list[str]:
    if not plan["confident"]:
        return ["Not enough is known yet: no repair is more likely than not to cure this."]
    lines = ["Repair, test, go on"]
    for step in plan["steps"]:
        said = " + ".join(names.get(key, key) for key in step["repairs"])
        search = f", {step['search'] / 60:.1f} h of it to find the place" if step["search"] else ""
        lines.append(f"  in {100 * step['needed']:.0f} %: {said} ({step['cost'] / 60:.1f} h{search})")
    lines.append(
        f"  about {plan['cost'] / 60:.1f} h; not solved: {100 * plan['unsolved']:.0f} %;"
        f" comes back unseen: {100 * plan['comes_back']:.0f} %"
    )
    return lines


def _row(item: advice.Option) -> str:
    shares = "".join(f"{100 * share:5.0f} %" for share in (item["cures"], item["comes_back"]))
    return f"{item['cost'] / 60:5.1f} h{shares}"
