"""Card bit patterns and printed numbers held against open descriptions.

Marks: [C] seen in copies of the description, [X] worked out from it by hand, [M] from memory.
"""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from latchwork.codes.cards.describe import shipped_layouts
from latchwork.codes.cards.frame import decode_frame, encode_frame
from latchwork.codes.cards.layout import decode, encode, read_wire
from latchwork.codes.cards.printing import PRINTINGS, Printing, read, show

OPEN = shipped_layouts()["26-bit"]
SITE_CARD = shipped_layouts()["34-bit"]
CARD_ONLY = shipped_layouts()["34-bit, card only"]
BY_NAME = {p.name: p for p in PRINTINGS}


@pytest.mark.parametrize(
    ("facility", "number", "bits", "frame"),
    [  # The open 26-bit layout [C]; rows [X]
        (0, 0, "0 00000000 0000000000000000 1", 0x0000001),
        (1, 1, "1 00000001 0000000000000001 0", 0x2020002),
        (45, 12345, "0 00101101 0011000000111001 1", 0x05A6073),
        (77, 12345, "0 01001101 0011000000111001 1", 0x09A6073),
        (255, 65535, "0 11111111 1111111111111111 1", 0x1FFFFFF),
    ],
)
def test_open_26_bit(facility: int, number: int, bits: str, frame: int) -> None:
    assert int(bits.replace(" ", ""), 2) == frame
    found = encode(OPEN, facility=facility, number=number)
    assert found == frame
    decoded = decode(OPEN, frame)
    assert decoded.numbers == {"facility": facility, "number": number}
    assert decoded.broken == ()


def test_a_data_line_swap_of_26_bits() -> None:
    """[X] 45/12345 becomes 210/53190, and both parities always fail."""
    swapped = encode(OPEN, facility=45, number=12345) ^ 0x3FFFFFF
    reading = read_wire(OPEN, swapped)
    assert reading.as_received.numbers == {"facility": 210, "number": 53190}
    assert reading.as_received.broken == (1, 26)
    assert reading.swapped is not None
    assert reading.swapped.numbers == {"facility": 45, "number": 12345}
    rng = random.Random(26)
    for _ in range(500):
        frame = encode(OPEN, facility=rng.randrange(256), number=rng.randrange(65536))
        assert decode(OPEN, frame ^ 0x3FFFFFF).broken == (1, 26)


def test_34_bits() -> None:
    """[C] layout; [X] 45/12345; the 32-bit number 89 D4 1B 81 matches a reader manual's example."""
    bits = "0 0000000000101101 0011000000111001 1"
    assert encode(SITE_CARD, facility=45, number=12345) == int(bits.replace(" ", ""), 2)
    bits = "1 10001001 11010100 00011011 10000001 1"
    assert encode(CARD_ONLY, number=0x89D41B81) == int(bits.replace(" ", ""), 2)


@pytest.mark.parametrize(
    ("identifier", "bits", "frame"),
    [  # [X]; the first is identical to a published example [C]
        (
            0x06001259E3,
            "111111111 00000 01100 00000 00000 00011 00101 01010 10010 11101 00110 0100 0",
            0xFF818000CAA974C8,
        ),
        (
            0x0600BC614E,
            "111111111 00000 01100 00000 00000 10111 11000 01100 00011 01001 11101 1100 0",
            0xFF818005F0C1A7B8,
        ),
    ],
)
def test_64_bit_frame(identifier: int, bits: str, frame: int) -> None:
    assert int(bits.replace(" ", ""), 2) == frame
    assert encode_frame(identifier) == frame
    assert decode_frame(frame).identifier == identifier
    assert decode_frame(frame).good


def test_errors_in_the_64_bit_frame() -> None:
    """One wrong data bit breaks one row and one column; two in a row hide from the row and show in
    two columns; four at the corners of a rectangle pass unseen."""
    frame = encode_frame(0x0600BC614E)

    def at(row: int, column: int) -> int:
        return 1 << (54 - 5 * row - column)

    for row in range(10):
        for column in range(4):
            found = decode_frame(frame ^ at(row, column))
            assert (found.rows, found.columns) == ((row + 1,), (column + 1,))
        for a, b in combinations(range(4), 2):
            found = decode_frame(frame ^ at(row, a) ^ at(row, b))
            assert (found.rows, found.columns) == ((), (a + 1, b + 1))
    corners = at(2, 1) ^ at(2, 3) ^ at(7, 1) ^ at(7, 3)
    assert decode_frame(frame ^ corners).good


@pytest.mark.parametrize(
    ("name", "printed"),
    [  # [X]; names of the conventions [M]
        ("10 digits", "0012345678"),
        ("13 digits", "0025782149454"),
        ("8 + 16", "188,24910"),
        ("16 + 16", "00188,24910"),
        ("10 digits, bytes reversed", "1315027968"),
        ("hex, nibbles bit-reversed", "0600D36827"),
        ("hex, bytes bit-reversed", "60003D8672"),
    ],
)
def test_printed_numbers_of_one_identifier(name: str, printed: str) -> None:
    assert show(BY_NAME[name], 0x0600BC614E) == printed
    low = 0x0600BC614E & ((1 << BY_NAME[name].bits) - 1)
    assert read(BY_NAME[name], printed) == low


def test_the_26_bit_reader_output_of_that_identifier() -> None:
    """[X] facility 188, card 24910: the low 24 bits."""
    assert 0x0600BC614E & 0xFFFFFF == 188 << 16 | 24910


def test_four_byte_identifier_in_both_byte_orders() -> None:
    """[X] 04 A1 B2 C3: 77705923 as it stands, 3283263748 with its bytes reversed."""
    assert int(show(BY_NAME["10 digits"], 0x04A1B2C3)) == 77705923
    assert int(show(BY_NAME["10 digits, bytes reversed"], 0x04A1B2C3)) == 3283263748
    assert read(BY_NAME["hex, 4 bytes"], "04:A1:B2:C3") == 0x04A1B2C3
    assert show(BY_NAME["hex, 4 bytes reversed"], 0x04A1B2C3) == "C3B2A104"


def test_seven_byte_identifier_in_both_byte_orders() -> None:
    uid = 0x04A1B2C3D4E5F6
    assert show(BY_NAME["hex, 7 bytes"], uid) == "04A1B2C3D4E5F6"
    assert show(BY_NAME["hex, 7 bytes reversed"], uid) == "F6E5D4C3B2A104"
    assert int(show(BY_NAME["17 digits"], uid)) == uid
    for name in ("17 digits", "17 digits, bytes reversed", "hex, 7 bytes reversed"):
        assert read(BY_NAME[name], show(BY_NAME[name], uid)) == uid


def value_classes() -> list[int]:
    """24-bit values of every class: each bit alone and left out, each byte at its ends with the
    others at theirs, every power of ten and its neighbours, each byte value in each byte."""
    ends = [0x00, 0x01, 0x7F, 0x80, 0xFE, 0xFF]
    values = {1 << bit for bit in range(24)} | {0xFFFFFF ^ 1 << bit for bit in range(24)}
    values |= {a << 16 | b << 8 | c for a in ends for b in ends for c in ends}
    values |= {10**k + d for k in range(8) for d in (-1, 0, 1) if 10**k + d < 1 << 24}
    values |= {byte << shift | 0x00A5C3 for byte in range(256) for shift in (0, 8, 16)}
    return sorted(values)


@pytest.mark.parametrize("printing", PRINTINGS, ids=lambda p: p.name)
def test_every_24_bit_value_class_both_ways(printing: Printing) -> None:
    for value in value_classes():
        whole = value | (value * 0x010203) << 24
        whole &= (1 << printing.bits) - 1
        assert read(printing, show(printing, whole)) == whole
        assert read(printing, show(printing, value)) == value


def test_the_8_16_print_of_every_value_class_against_plain_arithmetic() -> None:
    for value in value_classes():
        first, second = show(BY_NAME["8 + 16"], value).split(",")
        assert (int(first), int(second)) == divmod(value, 65536)
        assert int(show(BY_NAME["8 digits"], value)) == value
        frame = encode(OPEN, facility=value >> 16, number=value & 0xFFFF)
        assert decode(OPEN, frame).value == value
        bits = f"{frame:026b}"
        assert bits[:13].count("1") % 2 == 0
        assert bits[13:].count("1") % 2 == 1
