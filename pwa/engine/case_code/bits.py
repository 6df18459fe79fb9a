"""Small whole numbers as few bits: exponential Golomb codes, which need no length in front.

Source: Golomb, "Run-length encodings", IEEE Trans. Inf. Theory 12 (1966); the exponential form of order k as
in ITU-T H.264, clause 9.1: y = x + 2^k in binary, after one zero for each bit of y beyond k + 1.
"""

LONGEST = 24  # bits of one number; a longer run of zeros is damage


class Writer:
    def __init__(self) -> None:
        self._bits: list[int] = []

    def fixed(self, value: int, width: int) -> None:
        """A number of a known width, highest bit first."""
        self._bits += [value >> at & 1 for at in range(width - 1, -1, -1)]

    def number(self, value: int, order: int) -> None:
        """Any number from 0; small ones get few bits, the fewer the lower the order."""
        shifted, width = value + (1 << order), 0
        while shifted >> width:
            width += 1
        self.fixed(shifted, 2 * width - 1 - order)

    def symbols(self, width: int) -> "list[int]":
        """All bits in symbols of `width` bits, the last one filled with zeros."""
        bits = self._bits + [0] * (-len(self._bits) % width)
        return [_value(bits[at : at + width]) for at in range(0, len(bits), width)]


class Reader:
    """Reads what a Writer wrote. Past the end it raises ValueError."""

    def __init__(self, symbols: "list[int]", width: int) -> None:
        self._bits: list[int] = []
        for symbol in symbols:
            self._bits += [symbol >> at & 1 for at in range(width - 1, -1, -1)]
        self._at = 0

    def fixed(self, width: int) -> int:
        if self._at + width > len(self._bits):
            raise ValueError("The code ends too early.")
        self._at += width
        return _value(self._bits[self._at - width : self._at])

    def number(self, order: int) -> int:
        zeros = 0
        while not self.fixed(1):
            zeros += 1
            if zeros > LONGEST:
                raise ValueError("The code holds a number that no version writes.")
        rest = zeros + order
        return (1 << rest) + self.fixed(rest) - (1 << order)

    def rest(self) -> "list[int]":
        """The bits that are left."""
        return self._bits[self._at :]


def _value(bits: "list[int]") -> int:
    value = 0
    for bit in bits:
        value = value << 1 | bit
    return value
