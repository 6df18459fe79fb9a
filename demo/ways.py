"""Where the invented shop is kept, and how to come in."""

import secrets
from pathlib import Path

from server.store.shop import Shop, now

DATA = Path(__file__).parent / "data"
NAME = "Demo desk (invented)"


def ways_in(url: str, shop: Shop) -> str:
    return f"""
Layby serves an invented shop: every truck, person, value and photo in it is made up.

  phone  {url}/       then join the shop with the code {shop.new_code("phone")}
  desk   {url}/desk/  sign in as {NAME} with {owner(shop)}
"""


def owner(shop: Shop) -> str:
    """A new passphrase of the invented owner, who is there from now on."""
    passphrase = secrets.token_hex(8)
    hashed = shop.passphrases.hashed(passphrase)
    known = [person["id"] for person in shop.people.listing() if person["name"] == NAME]
    with shop.store.transaction() as db:
        if known:
            shop.people.change(db, known[0], hashed, now())
        else:
            shop.people.add(db, NAME, hashed, "owner", now())
    return passphrase
