"""What stands over every page: what waits, what is old and not sent, and what to do about it."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.when import DAY

if TYPE_CHECKING:
    from pwa.app.protocol import Request

LONG = 365  # days; above it a number of days says nothing, and the clock was more likely wrong
HEX = "0123456789abcdef"


class Notice(TypedDict):
    text: str
    action: str  # what to do
    link: str  # and where
    alert: str  # not "": it answers what was just done
    photo: str  # the picture that was not kept


def notices(request: "Request") -> "list[Notice]":
    """The notices for a page, the most urgent first."""
    status, found = request["status"], []
    asked = request["query"].get("no-room") or [""]
    if asked[0]:
        photo = asked[0] if len(asked[0]) == 64 and all(digit in HEX for digit in asked[0]) else ""
        found.append(_notice(NO_ROOM, "Send and free space", alert="yes", photo=photo))
    if status.get("damaged"):
        found.append(_notice(DAMAGED, "What this phone holds", "/rescue.html"))
    if request["path"] == "/phone":  # which says the rest itself
        return found
    waiting = status.get("waiting", 0)
    if waiting:
        what = "1 entry was" if waiting == 1 else f"{waiting} entries were"
        found.append(_notice(f"{what} typed and could not be worked into a job yet.", "See and try again"))
    old = reminder(request)
    if old:
        found.append(_notice(old, "Send or save them"))
    return found


NO_ROOM = (
    "The photo was not kept: this phone is full. What you typed is still here. "
    "Make room, then take the photo again."
)
DAMAGED = (
    "A file of the app on this phone is damaged or missing. "
    "Open Layby where there is signal: it mends itself. What you entered is not touched."
)


def _notice(text: str, action: str, link: str = "/phone", alert: str = "", photo: str = "") -> Notice:
    return {"text": text, "action": action, "link": link, "alert": alert, "photo": photo}


def reminder(request: "Request") -> str:
    """What is not sent although it is older than a day, in words; "" if there is nothing to say.

    A wrong clock must not hide it: what was written or sent more than a day after now shows that the clock
    was moved, and then nobody knows how old it is.
    """
    status, now = request["status"], request["now"]
    times = status.get("unsent_times") or []
    if not times:
        return ""
    what = counted(status["unsent_notes"], status["unsent_photos"])
    sync = status.get("sync")
    if max(times + [(sync["good"] if sync else 0) or 0]) - now > DAY:
        return f"{what} not sent yet. This phone's clock was changed, so they may be old."
    if now - min(times) < DAY:
        return ""
    days = _day(now, request["zone"]) - _day(min(times), request["zone"])
    age = "from yesterday" if days == 1 else f"from {days} days ago"
    if days >= LONG:
        age = "very old by this phone's clock"
    return f"{what} not sent yet, the oldest {age}."


def _day(ms: int, zone: int) -> int:
    return (ms // 60_000 + zone) // 1440


def counted(notes: int, photos: int) -> str:
    """ "5 notes and 1 photo are"; one alone "is"."""
    return amount(notes, photos) + (" is" if notes + photos == 1 else " are")


def amount(notes: int, photos: int) -> str:
    """ "5 notes and 1 photo"; "" for nothing."""
    parts = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in ((notes, "note"), (photos, "photo")) if n]
    return " and ".join(parts)
