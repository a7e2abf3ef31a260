"""Layouts people describe, boxes of cards, and layouts worked out from a few cards."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from latchwork.codes.cards.batch import check_batch, read_printed
from latchwork.codes.cards.describe import layouts_for, read_layouts, shipped_layouts
from latchwork.codes.cards.guess import Answer, Sample, expected_frame
from latchwork.codes.cards.infer import infer
from latchwork.codes.cards.layout import Field, Layout, Parity, decode, encode, read_wire
from latchwork.codes.cards.printing import PRINTINGS, show
from latchwork.codes.cards.received import Received, read_received
from latchwork.codes.errors import CodesError

KNOWN = shipped_layouts()
OPEN = KNOWN["26-bit"]
OWN = b"""latchwork layouts: 1
layouts:
  club card:
    bits: 37
    fields: {facility: 2-12, number: 13-36}
    parity:
      - {bit: 1, even over: 2-19}
      - {bit: 37, odd over: 19-36}
"""
CLUB = read_layouts(OWN, "layouts.yaml")["club card"]


def guess(
    *pairs: tuple[str, str], known: dict[str, Layout] = KNOWN, own: tuple[str, ...] = ()
) -> Answer:
    return infer([Sample(p, read_received(r)) for p, r in pairs], known, own)


def wire(layout: Layout, flip: bool = False, **numbers: int) -> str:
    frame = encode(layout, **numbers)
    if flip:
        frame ^= (1 << layout.bits) - 1
    return f"{layout.bits} bits 0x{frame:X}"


@pytest.mark.parametrize("name", sorted(KNOWN))
def test_every_shipped_layout_reads_what_it_wrote(name: str) -> None:
    layout, rng = KNOWN[name], random.Random(name)
    for _ in range(200):
        numbers = {n: rng.randrange(f.largest + 1) for n, f in layout.fields.items()}
        frame = encode(layout, **numbers)
        found = decode(layout, frame)
        assert (found.numbers, found.broken) == (numbers, ())
        for rule in layout.parity:
            for bit in (*rule.over, rule.bit):
                assert rule.bit in decode(layout, frame ^ 1 << (layout.bits - bit)).broken


def test_parity_over_parity_is_worked_out_in_order() -> None:
    layout = Layout(
        "p",
        10,
        {"number": Field(2, 8)},
        (Parity(10, True, tuple(range(1, 10))), Parity(1, False, (2, 3))),
    )
    for number in range(256):
        bits = f"{encode(layout, number=number):010b}"
        assert bits.count("1") % 2 == 1
        assert bits[:3].count("1") % 2 == 0


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("bits: 37", "bits: x", "club card.bits: found x, expected a number from 1 to 256"),
        ("2-12", '"2-12, 14"', "found several runs, expected one run of bits"),
        (
            "13-36",
            "12-36",
            "found bit 12 of club card.fields.facility, expected each bit used once",
        ),
        ("number:", "nummer:", "no field called number"),
        ("13-36", "13-40", "expected bits from 1 to 37"),
        ("even over: 2-19", "even over: 1-19", "found bit 1 guarding itself"),
        ("even over: 2-19", "over: 2-19", "the nearest is odd over"),
        ("bit: 37, odd over: 19-36", "bit: 37, odd over: 1-36", ""),
    ],
)
def test_what_is_wrong_with_a_layout(old: str, new: str, said: str) -> None:
    text = OWN.decode().replace(old, new, 1)
    if not said:
        assert read_layouts(text.encode(), "l.yaml")["club card"].parity[1].over[0] == 1
        return
    with pytest.raises(CodesError) as caught:
        read_layouts(text.encode(), "l.yaml")
    assert said in str(caught.value)


def test_parity_in_a_circle_is_refused() -> None:
    text = OWN.replace(b"even over: 2-19", b'even over: "2-19, 37"').replace(
        b"odd over: 19-36", b'odd over: "1, 19-36"'
    )
    with pytest.raises(CodesError, match="in a circle"):
        read_layouts(text, "l.yaml")


def test_the_jobs_own_layouts_come_first(tmp_path: Path) -> None:
    (tmp_path / "layouts.yaml").write_bytes(OWN)
    assert layouts_for(tmp_path)["club card"] == CLUB
    assert "club card" not in layouts_for(None)


def test_numbers_that_do_not_fit_are_refused() -> None:
    with pytest.raises(CodesError, match="facility 256 does not fit the layout 26-bit: 0 to 255"):
        encode(OPEN, facility=256, number=1)
    with pytest.raises(CodesError, match="needs a number"):
        encode(OPEN, facility=1)
    with pytest.raises(CodesError, match="more than the 26 bits"):
        decode(OPEN, 1 << 26)


def test_a_swap_is_only_claimed_where_it_shows() -> None:
    even = Layout("e", 10, {"number": Field(2, 9)}, (Parity(1, False, tuple(range(2, 11))),))
    assert not even.swap_shows
    frame = encode(even, number=77)
    reading = read_wire(even, frame ^ 0x3FF)
    assert reading.as_received.broken == ()
    assert (reading.swapped, reading.swap_would_show) == (None, False)


@pytest.mark.parametrize(
    ("text", "value", "bits"),
    [
        ("26 bits 0x05A6073", 0x05A6073, 26),
        ("00010110100110000001110011", 0x05A6073, 26),
        ("0001 0110 1001 1000 0001 1100 11", 0x05A6073, 26),
        ("0x05A6073", 0x05A6073, None),
        ("5a6073", 0x5A6073, None),
        ("12345678", 12345678, None),
        ("210,53190", 210 << 16 | 53190, 24),
        ("04:A1:B2:C3", 0x04A1B2C3, 32),
    ],
)
def test_what_people_copy_down(text: str, value: int, bits: int | None) -> None:
    assert read_received(text) == Received(value, bits)


@pytest.mark.parametrize(
    "text", ["", "hello", "26 bits", "300 bits 1", "4 bits 0xFF", "1,2,3", "5 g"]
)
def test_what_is_no_received_number(text: str) -> None:
    with pytest.raises(CodesError, match="not a received number"):
        read_received(text)


def test_26_bits_with_both_numbers_printed() -> None:
    answer = guess(
        ("45 12345", wire(OPEN, facility=45, number=12345)),
        ("45 12377", wire(OPEN, facility=45, number=12377)),
    )
    best = answer.guesses[0]
    assert answer.sure
    assert (best.layout.name, best.reads, best.swapped) == ("26-bit", "fields", False)
    assert expected_frame(best, "46,999") == encode(OPEN, facility=46, number=999)


def test_26_bits_with_the_facility_not_printed() -> None:
    answer = guess(
        ("12345", wire(OPEN, facility=45, number=12345)),
        ("12377", wire(OPEN, facility=45, number=12377)),
    )
    assert answer.sure
    assert answer.guesses[0].facility == 45


def test_ten_digits_printed_and_the_low_24_bits_received() -> None:
    answer = guess(
        *(
            (f"{n:010d}", wire(OPEN, facility=n >> 16 & 255, number=n & 65535))
            for n in (12345678, 12345999)
        )
    )
    assert answer.sure
    assert answer.guesses[0].reads == "10 digits"


def test_a_swapped_pair_from_printed_and_received() -> None:
    answer = guess(
        ("12345", wire(OPEN, True, facility=45, number=12345)),
        ("12377", wire(OPEN, True, facility=45, number=12377)),
    )
    assert answer.sure
    assert answer.guesses[0].swapped
    shown = guess(("45,12345", "210,53190"), ("45,12346", "210,53189"))
    assert shown.sure
    assert shown.guesses[0].swapped


def test_bytes_reversed() -> None:
    answer = guess(("0077705923", "0xC3B2A104"), ("0077705924", "0xC4B2A104"))
    best = answer.guesses[0]
    assert answer.sure
    assert "bytes reversed" in (best.turn, best.reads.partition(", ")[2])


def test_every_printing_of_a_32_bit_number_is_found() -> None:
    layout = KNOWN["34-bit, card only"]
    rng = random.Random(5)
    for printing in PRINTINGS:
        if printing.bits > 32:
            continue
        numbers = [rng.randrange(1 << 31, 1 << 32) for _ in range(3)]
        answer = guess(*((show(printing, n), wire(layout, number=n)) for n in numbers))
        fresh = rng.randrange(1 << 31, 1 << 32)
        if printing.bits < 32:
            continue
        assert answer.sure, printing.name
        frame = expected_frame(answer.guesses[0], show(printing, fresh))
        assert frame == encode(layout, number=fresh), printing.name


def test_a_layout_nobody_described_is_worked_out_with_its_doubt() -> None:
    pairs = [
        ("700 912345", wire(CLUB, facility=700, number=912345)),
        ("700 15912377", wire(CLUB, facility=700, number=15912377)),
    ]
    free = guess(*pairs)
    best = free.guesses[0]
    assert best.free
    assert best.layout.fields["number"] == CLUB.fields["number"]
    assert not free.sure
    third = guess(*pairs, ("1201 6000001", wire(CLUB, facility=1201, number=6000001)))
    assert third.guesses[0].layout.fields == CLUB.fields
    assert third.guesses[0].share > best.share
    described = guess(*pairs, known={**KNOWN, "club card": CLUB}, own=("club card",))
    assert described.sure
    assert described.guesses[0].layout.name == "club card"


def test_numbers_that_fit_nothing_are_said_to_fit_nothing() -> None:
    answer = guess(("12345", "26 bits 123456"), ("777", "26 bits 4444"))
    assert not answer.sure
    assert answer.unexplained > 0.99


def test_random_pairs_are_never_called_sure() -> None:
    rng = random.Random(3)
    for _ in range(300):
        pairs = [
            (f"{rng.randrange(256)},{rng.randrange(65536)}", f"26 bits {rng.randrange(1 << 26)}")
            for _ in range(2)
        ]
        assert not guess(*pairs).sure


def test_two_cards_are_needed() -> None:
    with pytest.raises(CodesError, match="two different cards"):
        guess(("1", "26 bits 1"), ("1", "26 bits 1"))
    with pytest.raises(CodesError, match="different numbers of bits"):
        guess(("1", "26 bits 1"), ("2", "34 bits 1"))


def test_a_box_of_cards() -> None:
    prints = [
        (2, "45,100"),
        (3, "45,101"),
        (4, "45,100"),
        (5, "46,103"),
        (6, "45,70000"),
        (7, "45,104"),
    ]
    taken = {45 << 16 | 101: "Mara"}
    batch = check_batch(OPEN, prints, taken)
    assert batch.facility == 45
    assert [(f.line, f.kind) for f in batch.findings] == [
        (3, "taken"),
        (4, "twice"),
        (5, "other facility"),
        (6, "unreadable"),
    ]
    assert "0 to 65535" in batch.findings[-1].detail
    assert check_batch(OPEN, prints[:1], {}, facility=46).findings[0].kind == "other facility"


def test_prints_of_one_card() -> None:
    assert read_printed(OPEN, "45,12345").value == 45 << 16 | 12345
    assert read_printed(OPEN, "12345", facility=45).value == 45 << 16 | 12345
    with pytest.raises(CodesError, match="facility code too"):
        read_printed(OPEN, "12345")
    identifier = KNOWN["32-bit identifier"]
    assert read_printed(identifier, "0077705923").value == 0x04A1B2C3
    assert read_printed(identifier, "04:A1:B2:C3", printing="hex, 4 bytes").value == 0x04A1B2C3
    with pytest.raises(CodesError, match="could be printed as"):
        read_printed(identifier, "04A1B2C3")
    with pytest.raises(CodesError, match="does not fit"):
        read_printed(identifier, "99999999999")
