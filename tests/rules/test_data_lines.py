"""What swapped data lines do to a card, worked out on the open 26-bit format.

Format and the effect of a swap: SIA AC-01 as openly described (even parity over bits 2 to 13, odd
over bits 14 to 25, facility in bits 2 to 9, number in bits 10 to 25); the values are worked out.
"""

from __future__ import annotations

import pytest

from tests.rules.jobs import STRIKE, but, findings, job

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


SHORT = "short: [reader green, {}], at: 1 m"
"""Of the reader's cores green is D0 and yellow D1; brown is its minus."""


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (SHORT.format("reader brown"), True),
        (SHORT.format("reader yellow"), True),
        ("leak: [reader yellow, reader brown], resistance: 100 ohm", True),
        ("leak: [reader yellow, reader brown], resistance: 100 kohm", False),
        ("part: reader, state: contact D0 welded", True),
    ],
)
def test_a_card_is_not_read_over_a_line_that_carries_no_pulses(found: str, told: bool) -> None:
    """Lines rest high, a bit is a pulse to low on one of them (SIA AC-01, from memory): on a line
    that is held low there are none, nor where every pulse is on both. 100 ohm against a pull-up of
    some kilohm leave less than a volt, 100 kilohm nearly all of 5 V (by hand)."""
    reader = {"controller": "controller, reader outside", "reader": "reader"}
    runs = "{power: 10 m of 2 x 1.0 mm², reader: 5 m of 6 x 0.22 mm²}"
    text = job(but(STRIKE, {**reader, "runs": runs, "found": f"[{{{found}}}]"}))
    assert ("no-entry" in {f.rule for f in findings(text)}) is told
