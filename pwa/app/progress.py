"""How far a job is: the steps in order, what each still lacks, and what keeps the job from closing."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import cautions, closing
from pwa.app.evidence import causes
from pwa.app.joints import readings, verdict
from pwa.app.kinds.repair import PASSED
from pwa.app.record import jobs

if TYPE_CHECKING:
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Content, Joint

# Kinds of which a step says how many there are.
COUNTED = ("reading", "marks", "repair", "fastener", "torque", "cause", "proof")


class StepState(TypedDict):
    key: str  # the last part of the step's path
    name: str
    state: str  # how far, in words
    mark: str  # "done", "started" or "open", for the picture beside the words


def steps(job: "Job", content: "Content") -> "list[StepState]":
    """The job's steps in working order."""
    done = {kind: len(jobs.of_kinds(job["settled"], (kind,))) for kind in COUNTED}
    codes = len(jobs.of_kind(job["heads"], "code"))
    unaccepted = len(cautions.missing(job, content))
    undecided = len(causes.undecided(job, content))
    ended = job["closed"].get("outcome", closing.state(closing.of(job)))
    pairs = len([joint for joint in content["joints"] if _on_both_sides(job, joint)])
    return [
        _step("safe", "Make safe", f"{unaccepted} cautions to accept" if unaccepted else "All accepted",
              unaccepted == 0, bool(job["cautions"])),
        _step("codes", "Codes", _count(codes, "code"), codes > 0),
        _step("isolate", "Isolate", _count(len(job["findings"]), "finding"), False, bool(job["findings"])),
        _step("measure", "Measure", _count(done["reading"], "reading"), False, done["reading"] > 0),
        _step("joints", "Mark and photograph", _count(pairs, "joint", "compared"), False, done["marks"] > 0),
        _step("repair", "Repair", _count(done["repair"], "choice"), done["repair"] > 0),
        _step("fasteners", "Close up", _count(done["torque"], "fastener", "torqued"), False,
              done["fastener"] > 0),
        _step("cause", "Root cause", f"{undecided} to decide" if undecided else "Decided", undecided == 0,
              done["cause"] > 0),
        _step("prove", "Prove", f"{done['proof']} of {len(content['proofs'])} done",
              done["proof"] == len(content["proofs"]), done["proof"] > 0),
        _step("summary", "Summary and close", ended, bool(job["closed"])),
    ]  # fmt: skip


def missing(job: "Job", content: "Content") -> "list[str]":
    """What keeps the job from closing as done, each a sentence that says what to do."""
    found = [f"Settle: two different answers on one {item['kind']}." for item in job["conflicts"]]
    undecided = causes.undecided(job, content)
    if undecided:
        found.append(f"Root cause: name, exclude or leave open with a reason ({len(undecided)} to decide).")
    found += verdict.missing(job, content)
    if not jobs.of_kind(job["settled"], "repair"):
        found.append("Repair: say what was done.")
    results = {
        record["data"]["proof"]: record["data"]["result"] for record in jobs.of_kind(job["settled"], "proof")
    }
    for proof in content["proofs"]:
        result = results.get(proof["key"], "")
        if result != PASSED:
            found.append(f"Prove: {proof['name']}{' failed' if result else ' is not done'}.")
    return found


def _step(key: str, name: str, state: str, done: bool, started: bool = False) -> StepState:
    return {
        "key": key,
        "name": name,
        "state": state,
        "mark": "done" if done else "started" if started else "open",
    }


def _count(number: int, what: str, how: str = "") -> str:
    if not number:
        return "Not yet"
    return f"{number} {what}{'' if number == 1 else 's'} {how}".rstrip()


def _on_both_sides(job: "Job", joint: "Joint") -> bool:
    return all(readings.marks(job, joint["key"], moment) for moment in readings.moments(joint))
