"""What belongs to the shop and to no truck's job: labour rate, times and prices, and who writes on what."""

from typing import TYPE_CHECKING

from pwa.app import contract
from pwa.app.kinds.shape import SHOP, Kind, List, Number, Table, Text, key, line, needed, optional

if TYPE_CHECKING:
    from pwa.app.kinds.data import Person, Prices
    from pwa.app.protocol import Content

MOST = 1e7
amount = Number("money", 0, MOST)
REPAIRS = 1000


def _prices(data: "Prices", content: "Content") -> str:
    return f"{data['rate']:g} {data.get('currency', '')}".rstrip() + " an hour"


def _person(data: "Person", content: "Content") -> str:
    return data["name"]


KINDS = [
    Kind(
        "prices",
        "Labour rate:",
        _prices,
        SHOP,
        [
            needed("rate", amount),  # an hour
            optional("currency", Text(8)),
            optional("source", line),
            optional("come_back", amount),
            optional("minutes", Table(Number("min", 0, MOST), REPAIRS)),  # by repair
            optional("parts", Table(amount, REPAIRS)),
            optional("off", List(key, 0, REPAIRS)),  # repairs not sold, or not allowed by the maker
        ],
        subject=(),
    ),
    Kind(
        "person",
        "Name:",
        _person,
        SHOP,
        [needed("name", Text(contract.NAME_LENGTH))],
        alone="A device says its own name, and its newest one counts.",
    ),
]
