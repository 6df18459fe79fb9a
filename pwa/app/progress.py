"""How far a job is: the steps in order, what each still lacks, and what keeps the job from closing."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import cautions, closing
from pwa.app.evidence import causes, proofs
from pwa.app.joints import readings, verdict
from pwa.app.kinds.job import DONE
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
    is_done = job["closed"].get("outcome") == DONE  # by what its version asked for, which stands
    undecided = [] if is_done else causes.undecided(job, content)
    unconfirmed = not is_done and bool(causes.missing(job, content, undecided))
    asked, results = proofs.needed(job, content), proofs.results(job)
    proven = len([proof for proof in asked if proofs.is_in(results.get(proof["key"]))])
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
        _step("cause", "Root cause", _decided(len(undecided), unconfirmed), not unconfirmed,
              done["cause"] > 0),
        _step("prove", "Prove", f"{proven} of {len(asked)} done", proven == len(asked) or is_done,
              done["proof"] > 0),
        _step("summary", "Summary and close", ended, bool(job["closed"])),
    ]  # fmt: skip


def missing(job: "Job", content: "Content") -> "list[str]":
    """What keeps the job from closing as done, each a sentence that says what to do; [] once it is done."""
    if job["closed"].get("outcome") == DONE:
        return []
    found = [f"Settle: two different answers on one {item['kind']}." for item in job["conflicts"]]
    found += causes.missing(job, content, causes.undecided(job, content))
    return found + verdict.missing(job, content) + proofs.missing(job, content)


def _step(key: str, name: str, state: str, done: bool, started: bool = False) -> StepState:
    return {
        "key": key,
        "name": name,
        "state": state,
        "mark": "done" if done else "started" if started else "open",
    }


def _decided(left: int, unconfirmed: bool) -> str:
    if left:
        return f"{left} to decide"
    return "Not confirmed or not repaired yet" if unconfirmed else "Decided"


def _count(number: int, what: str, how: str = "") -> str:
    if not number:
        return "Not yet"
    return f"{number} {what}{'' if number == 1 else 's'} {how}".rstrip()


def _on_both_sides(job: "Job", joint: "Joint") -> bool:
    return all(readings.marks(job, joint["key"], moment) for moment in readings.moments(joint))
