"""The check code against an independent library, and the field and the numbers against published tables."""

import random

import reedsolo

from pwa.engine.case_code import bits, reed_solomon

# reedsolo 1.7 (https://github.com/tomerfiliba-org/reedsolomon): the same field, generator and first root.
LIBRARY = reedsolo.RSCodec(nsym=4, nsize=31, fcr=1, prim=0b100101, generator=2, c_exp=5)
# Powers of a root of x^5 + x^2 + 1 in its lowest five powers: Lin and Costello, Error Control Coding,
# appendix A, table for m = 5 (from memory; the recurrence a^5 = a^2 + 1 can be followed by hand).
PUBLISHED = {
    5: 0b00101,
    6: 0b01010,
    7: 0b10100,
    8: 0b01101,
    10: 0b10001,
    15: 0b11111,
    18: 0b00011,
    30: 0b10010,
}


def test_the_powers_are_the_published_ones():
    assert {power: reed_solomon.POWERS[power] for power in PUBLISHED} == PUBLISHED
    assert sorted(reed_solomon.POWERS) == list(range(1, 32))


def test_the_check_symbols_are_the_librarys(twin):
    chance = random.Random(11)
    ours = twin("pwa.engine.case_code.reed_solomon")
    for length in range(1, 28):
        symbols = [chance.randrange(32) for _ in range(length)]
        assert symbols + ours.checks(symbols) == list(LIBRARY.encode(symbols))


def test_the_library_finds_the_same_mistake():
    chance = random.Random(12)
    for _ in range(200):
        symbols = [chance.randrange(32) for _ in range(chance.randrange(1, 28))]
        block = symbols + reed_solomon.checks(symbols)
        damaged = list(block)
        damaged[chance.randrange(len(block))] ^= chance.randrange(1, 32)
        message, whole, _ = LIBRARY.decode(damaged)
        assert reed_solomon.mend(damaged) == list(whole) == block
        assert list(message) == symbols


# ITU-T H.264, table 9-2: bit strings of the first code numbers of Exp-Golomb codes of order 0.
NUMBERS = ["1", "010", "011", "00100", "00101", "00110", "00111", "0001000", "0001001", "0001010"]


def test_numbers_are_written_as_published():
    for number, published in enumerate(NUMBERS):
        writer = bits.Writer()
        writer.number(number, 0)
        assert "".join(map(str, writer.symbols(1))) == published
