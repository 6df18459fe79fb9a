"""Where the invented shop is kept, and how to come in."""

from pathlib import Path

from server.store.shop import Shop

DATA = Path(__file__).parent / "data"


def ways_in(url: str, shop: Shop) -> str:
    return f"""
Layby serves an invented shop: every truck, person, value and photo in it is made up.

  phone  {url}/       then join the shop with the code {shop.new_code("phone")}
  desk   {url}/desk/  sign in with the code {shop.new_code("desk")}
"""
