"""A typed number: decimals behind a point or a comma, thousands parted or not, and what follows it."""

import re

LONGEST = 15  # digits; more is a slip of the finger, and may not fit a float
BLANKS = "\u00a0\u2009\u202f"  # spaces that split() does not know everywhere


def split(text: str) -> "tuple[float, str]":
    """Number and unit of a typed text; comma and point both separate decimals.

    "1,250" is one and a quarter to some and over a thousand to others, so it is asked, not read. Where both
    signs stand, or a space parts the thousands, there is no doubt: "1,250.5", "1.250,5", "101 325".
    """
    typed = text.replace("−", "-")
    for blank in BLANKS:
        typed = typed.replace(blank, " ")
    typed = " ".join(typed.split())
    spaced = re.match(r"^([+-]?\d\d?\d?)(( \d\d\d)+)([^\d].*)?$", typed)
    if spaced:
        typed = spaced.group(1) + spaced.group(2).replace(" ", "") + (spaced.group(4) or "")
    found = re.match(r"^([+-]?[\d.,]*)(.*)$", typed)
    digits = found.group(1) if found else ""
    try:
        if len(digits) > LONGEST:
            raise ValueError
        return float(_plain(digits)), found.group(2).strip() if found else ""
    except ValueError as error:
        if str(error).startswith("“"):
            raise
        shown = f"“{typed}” is no number" if typed else "Nothing is typed"
        raise ValueError(f"{shown}. Type it as 12.5 or 12,5.") from None


def _plain(digits: str) -> str:
    """Digits with a decimal point and nothing else."""
    whole, comma, decimals = digits.partition(",")
    if comma and "." not in digits and "," not in decimals and len(decimals) == 3:
        start = whole.strip("+-")
        if 0 < len(start) <= 3 and start.strip("0"):
            raise ValueError(
                f"“{digits}” can mean {whole}.{decimals} or {whole}{decimals}. Type it without a comma."
            )
    for thousands, decimal in ((",", "."), (".", ",")):
        groups, _, rest = digits.partition(decimal)
        parts = groups.split(thousands)
        doubtless = len(parts) > 2 or (len(parts) == 2 and rest)
        if doubtless and thousands not in rest and all(len(part) == 3 for part in parts[1:]):
            return "".join(parts) + "." + rest
    return digits.replace(",", ".")


def may_part_thousands(text: str) -> bool:
    """Whether a point may have been meant to part thousands: one to three digits, then three."""
    found = re.match(r"^\s*\+?([1-9]\d?\d?)\.\d\d\d([^\d,].*)?$", text)
    return found is not None
