"""Symbols of five bits as text that people copy, with check symbols that say where it was copied wrongly.

The text: Crockford's Base32 (digits and letters without I, L, O and U; case, spaces and dashes do not count;
I and L are read as 1, O as 0). Each 28 characters, seven groups, are a block of 24 that say something and 4
that check them (reed_solomon.py). The block's number, whether it is the last, and its length are checked
along with it but not written: so blocks left out or in another order are caught, and characters added at an
end, which the code alone would not see (a word of a cyclic code, shifted, is another of its words).

Source of the alphabet: Crockford, "Base 32", https://www.crockford.com/base32.html.
"""

from pwa.engine.case_code import reed_solomon

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
READ_AS = {"I": "1", "L": "1", "O": "0"}
NOT_USED = "U"  # the one letter that is never written and looks like no other
WIDTH = 5  # bits of a symbol
SAID = 24  # characters of a block that say something
BLOCK = SAID + reed_solomon.CHECKS
BLOCKS = 16  # the most; the number of a block goes into one symbol
GROUP = 4
LONGEST = 2000  # characters of a text that is looked at


def write(symbols: "list[int]") -> str:
    """The text of symbols from 0 to 31, without spaces.

    Raises:
        ValueError: they are too many.
    """
    count = (len(symbols) + SAID - 1) // SAID
    if count > BLOCKS:
        raise ValueError("This is too long for a code; export it as a file.")
    code = ""
    for n in range(count):
        said = symbols[SAID * n : SAID * (n + 1)]
        block = said + reed_solomon.checks(_unwritten(n, count, len(said)) + said)
        code += "".join([ALPHABET[symbol] for symbol in block])
    return code


def symbols_of(read: str) -> "tuple[list[int], str]":
    """The symbols that say something, and the code as it was written; where `read` differs, it was mended.

    Raises:
        ValueError: more is wrong than can be located; the sentence names the groups to compare.
    """
    count = (len(read) + BLOCK - 1) // BLOCK
    if not read or count > BLOCKS or len(read) - BLOCK * (count - 1) <= reed_solomon.CHECKS:
        raise ValueError(
            f"This is no whole case code: it has {len(read)} letters and digits. Count them once more."
        )
    symbols: list[int] = []
    code, wrong = "", []
    for n in range(count):
        here = read[BLOCK * n : BLOCK * (n + 1)]
        first = _unwritten(n, count, len(here) - reed_solomon.CHECKS)
        block = reed_solomon.mend(first + [max(ALPHABET.find(letter), 0) for letter in here])
        if block is None or block[: len(first)] != first:
            wrong.append((BLOCK * n, BLOCK * n + len(here) - 1))
        else:
            symbols += block[len(first) : -reed_solomon.CHECKS]
            code += "".join([ALPHABET[symbol] for symbol in block[len(first) :]])
    if wrong:
        raise ValueError(_where(wrong, len(read)))
    return symbols, code


def groups(code: str) -> "list[str]":
    """The code in groups to read out and type."""
    return [code[at : at + GROUP] for at in range(0, len(code), GROUP)]


def characters(text: str) -> str:
    """What of a text can belong to a code: after the last colon, letters and digits as they are written."""
    if len(text) > LONGEST:
        raise ValueError("This text is too long to be a case code.")
    plain = "".join([letter for letter in text.split(":")[-1] if ord(letter) < 128])
    kept = [READ_AS.get(letter, letter) for letter in plain.upper()]
    return "".join([letter for letter in kept if letter in ALPHABET or letter == NOT_USED])


def _unwritten(n: int, count: int, said: int) -> "list[int]":
    """What a block is checked with beside what it says: its number and whether it is the last, its length."""
    return [2 * n + (1 if n == count - 1 else 0), said]


def _where(wrong: "list[tuple[int, int]]", length: int) -> str:
    spans = [f"{first // GROUP + 1} to {last // GROUP + 1}" for first, last in wrong]
    what = "this code" if len(wrong) * BLOCK >= length else f"groups {' and '.join(spans)}"
    groups_of = f"in groups of {GROUP} characters"
    return f"More than one character of {what} is wrong, or one is missing. Compare it again, {groups_of}."
