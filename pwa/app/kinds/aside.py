"""A record that the desk sets aside for everybody: it decides nothing, and stays where it is."""

from typing import TYPE_CHECKING

from pwa.app.kinds.shape import TIMELINE, Kind, key, line, needed, truth

if TYPE_CHECKING:
    from pwa.app.kinds.data import SetAside
    from pwa.app.protocol import Content

NAME = "set-aside"


def _words(data: "SetAside", content: "Content") -> str:
    what = "An entry decides nothing" if data["aside"] else "An entry counts again"
    return f"{what}: {data['reason']}"


KINDS = [
    Kind(
        NAME,
        "Set aside:",
        _words,
        TIMELINE,
        [
            needed("record", key),  # of the same job
            needed("aside", truth),  # false takes it back
            needed("reason", line),
        ],
        subject=("record",),
        says=("aside",),
    ),
]
