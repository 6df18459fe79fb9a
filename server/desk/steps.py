"""Which of a new shop's first steps are done, and what the head of every desk page says of the shop."""

from pwa.app.protocol import Status
from server.backup import last
from server.store import shop
from server.store.people import Person


def done(here: shop.Shop) -> dict[str, bool]:
    return {
        "name": bool(here.facts.shop_name),
        "phone": bool(here.access.phones()),
        "backup": last.read(here.settings.data) is not None,
    }


def are_open(here: shop.Shop) -> bool:
    """Whether there is still a step to do, and nobody put the list away."""
    return not here.facts.first_steps_put_away and not all(done(here).values())


def head(here: shop.Shop, who: Person) -> Status:
    """What the shared pages show at the desk; it has nothing to send anywhere."""
    return {
        **NOTHING_TO_SEND,
        "shop": here.facts.shop_name,
        "first_steps": are_open(here) and who.role != "viewer",
        "phones_waiting": len(here.access.waiting()) if who.role != "viewer" else 0,
        "person": who.name,
        "role": who.role,
    }


NOTHING_TO_SEND: Status = {
    "unsent_notes": 0, "unsent_photos": 0, "waiting": 0, "enrolled": True, "sync": None,
    "shop": "", "first_steps": False, "phones_waiting": 0, "person": "", "role": "",
}  # fmt: skip
