"""Check symbols over GF(32): a Reed-Solomon code that catches what people do when they copy a text.

A block is at most 31 symbols (0 to 31), the last four of which are checks. Any two blocks differ in at least
five places. One wrong symbol, or two neighbours swapped, is located for certain, and any two wrong symbols
are caught. Worse damage looks like one mistake about once in a thousand times, so what was mended is to be
shown; the rest is reported, not guessed at.

The code: narrow-sense over GF(2^5) with x^5 + x^2 + 1, generator polynomial (x - a)(x - a^2)(x - a^3)(x -
a^4). Source: Reed and Solomon, "Polynomial codes over certain finite fields", J. SIAM 8 (1960); as in Lin and
Costello, Error Control Coding, chapter on BCH and Reed-Solomon codes.
"""

LENGTH = 31  # symbols of a block, checks included
CHECKS = 4
_PRIMITIVE = 0b100101  # x^5 + x^2 + 1


def _tables() -> "tuple[list[int], list[int]]":
    powers, logs, value = [0] * LENGTH, [0] * (LENGTH + 1), 1
    for exponent in range(LENGTH):
        powers[exponent], logs[value] = value, exponent
        value <<= 1
        if value > LENGTH:
            value ^= _PRIMITIVE
    return powers, logs


POWERS, LOGS = _tables()  # a^n, and n of a^n


def multiply(a: int, b: int) -> int:
    """The product in GF(32)."""
    return POWERS[(LOGS[a] + LOGS[b]) % LENGTH] if a and b else 0


def _generator() -> "list[int]":
    """Coefficients of the generator polynomial, highest power first."""
    made = [1]
    for root in range(1, CHECKS + 1):
        longer = made + [0]
        for at, factor in enumerate(made):
            longer[at + 1] ^= multiply(factor, POWERS[root])
        made = longer
    return made


GENERATOR = _generator()


def checks(symbols: "list[int]") -> "list[int]":
    """The four check symbols that follow these: the remainder of division by the generator polynomial.

    Raises:
        ValueError: more symbols than a block holds.
    """
    if len(symbols) > LENGTH - CHECKS:
        raise ValueError(f"A block holds {LENGTH - CHECKS} symbols beside its checks, not {len(symbols)}.")
    rest = [0] * CHECKS
    for symbol in symbols:
        lead = symbol ^ rest[0]
        rest = [rest[at + 1] if at + 1 < CHECKS else 0 for at in range(CHECKS)]
        rest = [rest[at] ^ multiply(lead, GENERATOR[at + 1]) for at in range(CHECKS)]
    return rest


def syndromes(block: "list[int]") -> "list[int]":
    """The block as a polynomial at a, a^2, a^3, a^4: all zero if and only if it belongs to the code."""
    found = []
    for root in range(1, CHECKS + 1):
        value = 0
        for symbol in block:
            value = multiply(value, POWERS[root]) ^ symbol
        found.append(value)
    return found


def mend(block: "list[int]") -> "list[int] | None":
    """The block of the code that is one wrong symbol or one swap of neighbours away; None if there is none.

    Two such blocks cannot be: they would differ in four places at most, and blocks differ in five.
    """
    said = syndromes(block)
    if not any(said):
        return list(block)
    return _one_wrong(block, said) or _one_swap(block)


def _one_wrong(block: "list[int]", said: "list[int]") -> "list[int] | None":
    """One error e at the power x^p makes the syndromes e a^p, e a^2p, e a^3p, e a^4p."""
    if not all(said):
        return None
    power = (LOGS[said[1]] - LOGS[said[0]]) % LENGTH
    place = len(block) - 1 - power
    if place < 0 or any(multiply(said[n], POWERS[power]) != said[n + 1] for n in range(CHECKS - 1)):
        return None
    mended = list(block)
    mended[place] ^= POWERS[(LOGS[said[0]] - power) % LENGTH]
    return mended


def _one_swap(block: "list[int]") -> "list[int] | None":
    for at in range(len(block) - 1):
        swapped = block[:at] + [block[at + 1], block[at]] + block[at + 2 :]
        if not any(syndromes(swapped)):
            return swapped
    return None
