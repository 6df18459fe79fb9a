"""Which proofs a job needs: those of every job, and what its repairs ask for beside."""

from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.app.kinds.repair import PASSED, applies
from pwa.app.record import jobs

if TYPE_CHECKING:
    from pwa.app.kinds.data import Proof as Proven
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Content, Proof


def needed(job: "Job", content: "Content") -> "list[Proof]":
    """In the order of the content."""
    asked: list[str] = []
    for record in jobs.of_kind(job["settled"], "repair"):
        repair = find(content["repairs"], record["data"]["repair"])
        asked += repair["proofs"] if repair else []
    return [proof for proof in content["proofs"] if proof["always"] or proof["key"] in asked]


def results(job: "Job") -> "dict[str, Proven]":
    """Proof -> its result, where people agree."""
    return {record["data"]["proof"]: record["data"] for record in jobs.of_kind(job["settled"], "proof")}


def is_in(said: "Proven | None") -> bool:
    """Whether a proof passed, or somebody said why it does not apply."""
    return said is not None and (said["result"] == PASSED or not applies(said))


def missing(job: "Job", content: "Content") -> "list[str]":
    """The proofs that the job still lacks for closing as done, each a sentence."""
    done = results(job)
    return [
        f"Prove: {proof['name']}{' failed' if proof['key'] in done else ' is not done'}."
        for proof in needed(job, content)
        if not is_in(done.get(proof["key"]))
    ]
