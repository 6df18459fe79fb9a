"""Lines of a log that cannot be read: counted, the first few shown, never a reason to stop."""

from typing import TypedDict

SHOWN = 5
LONGEST = 60  # characters of a damaged line that are shown


class Line(TypedDict):
    line: int  # from 1, as an editor counts
    text: str
    why: str


class Damage(TypedDict):
    count: int
    first: "list[Line]"


class Damaged:
    def __init__(self) -> None:
        self.count = 0
        self.first: list[Line] = []

    def add(self, number: int, line: bytes, why: str) -> None:
        self.count += 1
        if len(self.first) < SHOWN:
            self.first.append({"line": number, "text": printable(line[:LONGEST]), "why": why})

    def summary(self) -> Damage:
        return {"count": self.count, "first": self.first}


def printable(line: bytes) -> str:
    """Text of a line in UTF-8 or Latin-1, its control characters as dots."""
    try:
        text = line.decode()
    except UnicodeError:
        text = "".join([chr(value) for value in line])
    return "".join([letter if letter >= " " else "·" for letter in text.replace("\t", " ")])
