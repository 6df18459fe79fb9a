"""The order in which the answers of a check stand on every page: yes before no, else the normal one first.

In content the normal outcome stands first, because the model wants it so: there "no" may stand before "yes".
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwa.engine.evidence.value import Outcome

FIRST = ("yes", "no")


def in_order(outcomes: "list[Outcome]") -> "list[Outcome]":
    """The outcomes of a finding as pages show them."""
    keys = [item["key"] for item in outcomes]
    if not all(key in keys for key in FIRST):
        return outcomes
    first = [item for key in FIRST for item in outcomes if item["key"] == key]
    return first + [item for item in outcomes if item["key"] not in FIRST]
