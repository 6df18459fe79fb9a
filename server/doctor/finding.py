"""What the doctor says of one thing."""

from typing import NamedTuple


class Finding(NamedTuple):
    """`mend` is "" when all is well; otherwise it says what to do."""

    about: str
    found: str
    mend: str = ""
