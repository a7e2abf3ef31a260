"""The 64-bit frame of 125 kHz read-only cards (open description).

Nine ones; ten rows of four data bits and an even row parity; four even column parities; a zero.
"""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.codes.errors import CodesError

FRAME_BITS = 64
IDENTIFIER_BITS = 40
_HEADER = 0x1FF


@dataclass(frozen=True, slots=True)
class FrameReading:
    """What a frame says. ``rows`` and ``columns`` count from 1 and are those with wrong parity.

    ``identifier`` is as received even where parity is wrong: nothing is put right by guessing.
    """

    identifier: int
    rows: tuple[int, ...]
    columns: tuple[int, ...]
    marks_right: bool
    """Whether the nine ones and the closing zero are there."""

    @property
    def good(self) -> bool:
        """Whether everything is as it should be. Four wrong bits in a rectangle pass unseen."""
        return self.marks_right and not self.rows and not self.columns


def encode_frame(identifier: int) -> int:
    """The frame of a 40-bit identifier, first bit most significant."""
    if not 0 <= identifier < 1 << IDENTIFIER_BITS:
        raise CodesError("the identifier does not fit 40 bits")
    frame, columns = _HEADER, 0
    for row in range(10):
        nibble = identifier >> (36 - 4 * row) & 0xF
        frame = frame << 5 | nibble << 1 | nibble.bit_count() & 1
        columns ^= nibble
    return frame << 5 | columns << 1


def decode_frame(frame: int) -> FrameReading:
    """Reads a frame that begins at its nine ones."""
    if not 0 <= frame < 1 << FRAME_BITS:
        raise CodesError("the frame has more than 64 bits")
    identifier, columns, wrong_rows = 0, 0, []
    for row in range(10):
        five = frame >> (50 - 5 * row) & 0x1F
        identifier = identifier << 4 | five >> 1
        columns ^= five >> 1
        if five.bit_count() & 1:
            wrong_rows.append(row + 1)
    wrong = columns ^ frame >> 1 & 0xF
    wrong_columns = tuple(c for c in range(1, 5) if wrong >> (4 - c) & 1)
    marks = frame >> 55 == _HEADER and not frame & 1
    return FrameReading(identifier, tuple(wrong_rows), wrong_columns, marks)
