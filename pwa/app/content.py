"""Looking things up in the compiled content. Its shapes are in shapes.pyi, which the build writes."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import TypedDict, TypeVar

    class Keyed(TypedDict):
        key: str

    class Named(Keyed):
        name: str

    class Titled(Keyed):
        title: str

    Item = TypeVar("Item", bound=Keyed)


def find(items: "Sequence[Item]", key: str) -> "Item | None":
    """The item of a table with this key, or None when this version does not know it."""
    for item in items:
        if item["key"] == key:
            return item
    return None


def name_of(items: "Sequence[Named]", key: str) -> str:
    """The name that content gives to a key, or the key itself when this version does not know it."""
    item = find(items, key)
    return item["name"] if item else key


def title_of(items: "Sequence[Titled]", key: str) -> str:
    """As `name_of`, of what has a title."""
    item = find(items, key)
    return item["title"] if item else key
