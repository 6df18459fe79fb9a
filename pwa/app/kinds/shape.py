"""What a record kind is: its fields and their types, its subject, its words, and where it is shown.

`Field`s are made by `needed` and `optional`. Bounds are inclusive; None is no bound. The same table is read
by the check (check.py), by the fold (record/jobs.py), by the story, and by the build, which writes a type for
each kind's data (data.pyi) so that a misspelt field is found before anything runs.
"""

from collections import namedtuple
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from pwa.app.protocol import Content

KEY = 64  # characters of a key of content, of an id, of a SHA-256 in hex
NAME = 255  # of what a program calls itself: a media type (RFC 6838: 127 to each side of the stroke)
LINE = 1000  # of what is typed into one line
TEXT = 20_000  # of what is typed into an area
MOST = 2**53 - 1  # the largest whole number that JavaScript keeps exactly

Text = namedtuple("Text", ("longest",))  # in characters
Choice = namedtuple("Choice", ("keys",))  # a text, one of these
Number = namedtuple("Number", ("unit", "least", "most"))
Whole = namedtuple("Whole", ("least", "most"))
Truth = namedtuple("Truth", ("no",))  # made by `truth`
List = namedtuple("List", ("item", "fewest", "most"))
Table = namedtuple("Table", ("value", "most"))  # a text of any wording -> a value of one type
Shape = namedtuple("Shape", ("name", "fields"))  # an object with fields of its own
Maybe = namedtuple("Maybe", ("type",))  # or null
Either = namedtuple("Either", ("types",))  # the first that fits
Field = namedtuple("Field", ("name", "type", "needed"))

truth = Truth(False)
key, line, text = Text(KEY), Text(LINE), Text(TEXT)
number = Number("1", None, None)
point = List(Number("px", None, None), 2, 2)

# Where the summary shows a kind that it lists under no heading of its own.
HEAD, JOINTS, TIMELINE, SHOP = "at its head", "with the joint", "in the timeline alone", "on the shop's page"


def needed(name: str, type: "Any") -> "Any":
    """A field without which a record of its kind decides nothing."""
    return Field(name, type, True)


def optional(name: str, type: "Any") -> "Any":
    """A field that a record may lack: an older version's did, or nobody gave it."""
    return Field(name, type, False)


class Kind:
    """One kind of record.

    Args:
        title: what stands before its words in the timeline.
        words: from a record's data and content to one line; only asked for data that `check` understands.
        section: its heading in the summary, one of `table.SECTIONS`, or one of the places above.
        subject: the fields that name what it speaks about, () for the job itself. Two unreplaced records of
            one subject that say different things are a conflict; neither counts until somebody settles it.
        says: the fields that two records of one subject have to agree on; None for all.
        alone: of a kind without a subject, why two of it cannot disagree.
        photo: the field with the SHA-256 of the photo that it brings, or "".
        corrects: the field of words that can be corrected in the timeline, or "": every other kind is
            corrected on its own screen.
    """

    def __init__(
        self,
        name: str,
        title: str,
        words: "Callable[[Any, Content], str]",
        section: str,
        fields: "list[Any]",
        subject: "tuple[str, ...] | None" = None,
        says: "tuple[str, ...] | None" = None,
        alone: str = "",
        photo: str = "",
        corrects: str = "",
    ) -> None:
        self.name, self.title, self.words, self.section = name, title, words, section
        self.fields, self.subject, self.says, self.alone = fields, subject, says, alone
        self.photo, self.corrects = photo, corrects
