"""The square code against the worked example of its standard, read module by module.

Source: ISO/IEC 18004, Information technology, QR Code symbology, 2000, annex on encoding a symbol: the text
01234567 as version 1, level M. The standard prints its 16 data codewords and 10 correction codewords.
"""

from __future__ import annotations

import pytest

from naptuft.papers.qr import modules

DATA = "10 20 0C 56 61 80 EC 11 EC 11 EC 11 EC 11 EC 11"
CORRECTION = "A5 24 D4 C1 ED 36 C7 87 2C 55"
SIZE = 21
FORMAT_MASK = 0b101010000010010
LEVEL_M = 0b00

MASKS = (
    lambda i, j: (i + j) % 2 == 0,
    lambda i, _: i % 2 == 0,
    lambda _, j: j % 3 == 0,
    lambda i, j: (i + j) % 3 == 0,
    lambda i, j: (i // 2 + j // 3) % 2 == 0,
    lambda i, j: i * j % 2 + i * j % 3 == 0,
    lambda i, j: (i * j % 2 + i * j % 3) % 2 == 0,
    lambda i, j: ((i + j) % 2 + i * j % 3) % 2 == 0,
)


def format_of(rows: tuple[tuple[bool, ...], ...]) -> tuple[int, int]:
    """Level of correction and mask of a version 1 symbol, from the format information by the upper left corner."""
    places = [
        (8, 0),
        (8, 1),
        (8, 2),
        (8, 3),
        (8, 4),
        (8, 5),
        (8, 7),
        (8, 8),
        (7, 8),
        (5, 8),
        (4, 8),
        (3, 8),
        (2, 8),
        (1, 8),
        (0, 8),
    ]
    bits = sum(rows[i][j] << (14 - place) for place, (i, j) in enumerate(places)) ^ FORMAT_MASK
    return bits >> 13, bits >> 10 & 0b111


def codewords(rows: tuple[tuple[bool, ...], ...]) -> list[int]:
    """The 26 codewords of a version 1 symbol, in the order they are placed, mask removed."""
    _, mask = format_of(rows)
    function = {(i, j) for i in range(SIZE) for j in range(SIZE) if i == 6 or j == 6}
    function |= {(i, j) for i in range(9) for j in range(9)}
    function |= {(i, j) for i in range(9) for j in range(SIZE - 8, SIZE)}
    function |= {(i, j) for i in range(SIZE - 8, SIZE) for j in range(9)}
    bits = []
    upward = True
    for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
        for i in range(SIZE - 1, -1, -1) if upward else range(SIZE):
            bits += [rows[i][j] ^ MASKS[mask](i, j) for j in (right, right - 1) if (i, j) not in function]
        upward = not upward
    return [sum(bit << (7 - place) for place, bit in enumerate(bits[at : at + 8])) for at in range(0, 208, 8)]


def test_the_worked_example_of_the_standard_comes_out_codeword_for_codeword():
    """01234567 at level M: 16 data codewords, then 10 correction codewords, as printed."""
    rows = modules("01234567", "M")
    assert len(rows) == SIZE
    assert format_of(rows)[0] == LEVEL_M
    assert codewords(rows) == [int(word, 16) for word in f"{DATA} {CORRECTION}".split()]


@pytest.mark.parametrize("number", ["W-0001", "W-9999"])
def test_a_work_order_number_is_a_full_symbol_with_its_three_finders(number):
    """21 modules a side: never the micro form, which has one finder only."""
    rows = modules(number)
    assert len(rows) == SIZE
    finder = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
    for top, left in ((0, 0), (0, SIZE - 7), (SIZE - 7, 0)):
        assert ["".join(str(int(cell)) for cell in rows[top + i][left : left + 7]) for i in range(7)] == finder
