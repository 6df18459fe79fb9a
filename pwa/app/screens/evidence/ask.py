"""Questions for somebody far away: the three answers that would settle most, as one text message."""

from typing import TYPE_CHECKING

from pwa.app.carry import text_message
from pwa.app.evidence import answer_order, isolation
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from pwa.app.visit import Route
    from pwa.engine.evidence.value import Check

MOST = 3
LONGEST = 160  # characters of one text message in the basic alphabet (3GPP TS 23.038)


def show(visit: Visit) -> Reply:
    try:
        found = isolation.isolate(visit.job, visit.content, visit.shop)
    except ValueError as error:
        return page("evidence/ask.html", {"questions": [], "text": "", "link": "", "error": str(error)})
    asked = most_telling(found["checks"])
    text = message(str(visit.job["opened"]["unit"]), [(check["question"], check["name"]) for check in asked])
    context = {
        "questions": [
            {
                "name": check["name"],
                "question": check["question"],
                "outcomes": [outcome["label"] for outcome in answer_order.in_order(check["outcomes"])],
                "finding": check["finding"],
            }
            for check in asked
        ],
        "text": text,
        "link": text_message.link(text),
        "error": "",
    }
    return page("evidence/ask.html", context)


def most_telling(checks: "list[Check]") -> "list[Check]":
    """The checks that save most, leaving out what would be asked of the same part again."""
    found: list[Check] = []
    asked: list[str] = []  # the cause that each question is about
    for check in sorted(checks, key=lambda check: (-round(check["saves"], 6), check["finding"])):
        about = [item["cause"] for item in check["speaks"][:1]]
        if about and about[0] not in asked and len(found) < MOST:
            asked += about
            found.append(check)
    return found


def message(unit: str, asked: "list[tuple[str, str]]") -> str:
    """At most one text message of questions, each with the check's name, which is shorter.

    Where the questions are too long together, the longest are asked by name; the truck's name takes what is
    left. A check's name is short enough for three of them to fit always.
    """
    said = [question for question, _ in asked]
    for n in sorted(range(len(said)), key=lambda n: (-len(said[n]), n)):
        if len(_numbered(said)) > LONGEST:
            said[n] = asked[n][1] + "?"
    questions = _numbered(said)
    name = unit[: max(LONGEST - len(questions) - 2, 0)]
    return text_message.plain(f"{name}:\n{questions}" if name else questions)


def _numbered(said: "list[str]") -> str:
    return "\n".join([f"{n + 1}) {said[n]}" for n in range(len(said))])


ROUTES: "list[Route]" = [("GET", "/job/{job}/ask", show)]
