"""What swapped data lines do to a card, worked out on the open 26-bit format.

Format and the effect of a swap: SIA AC-01 as openly described (even parity over bits 2 to 13, odd
over bits 14 to 25, facility in bits 2 to 9, number in bits 10 to 25); the values are worked out.
"""

from __future__ import annotations

import pytest

FRAMES = ((0, 0, 0x0000001), (1, 1, 0x2020002), (45, 12345, 0x05A6073), (255, 65535, 0x1FFFFFF))


def _frame(facility: int, card: int) -> list[int]:
    bits = [int(b) for b in f"{facility:08b}{card:016b}"]
    return [sum(bits[:12]) % 2, *bits, 1 - sum(bits[12:]) % 2]


def _read(frame: list[int]) -> tuple[int, int, bool, bool]:
    """Facility, number, and whether each parity holds."""
    number = int("".join(map(str, frame[9:25])), 2)
    facility = int("".join(map(str, frame[1:9])), 2)
    return facility, number, sum(frame[:13]) % 2 == 0, sum(frame[13:]) % 2 == 1


@pytest.mark.parametrize(("facility", "card", "sent"), FRAMES)
def test_the_frame_as_published_and_its_complement(facility: int, card: int, sent: int) -> None:
    frame = _frame(facility, card)
    assert int("".join(map(str, frame)), 2) == sent
    assert _read(frame) == (facility, card, True, True)
    swapped = [1 - bit for bit in frame]
    assert _read(swapped) == (255 - facility, 65535 - card, False, False)


def test_the_example_of_a_swap() -> None:
    assert _read([1 - bit for bit in _frame(45, 12345)])[:2] == (210, 53190)
