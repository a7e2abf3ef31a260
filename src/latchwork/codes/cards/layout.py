"""Card layouts: which bits on the wire are which number, and what parity guards them.

A layout is data. Bit 1 is first on the wire and most significant.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from latchwork.codes.errors import CodesError


@dataclass(frozen=True, slots=True)
class Field:
    """A run of bits read as one number. ``start`` counts from 1."""

    start: int
    width: int

    @property
    def largest(self) -> int:
        """The largest number that fits."""
        return (1 << self.width) - 1

    @property
    def positions(self) -> range:
        """Its bit numbers."""
        return range(self.start, self.start + self.width)


@dataclass(frozen=True, slots=True)
class Parity:
    """Bit ``bit`` makes the count of ones over ``over`` and itself even, or odd."""

    bit: int
    odd: bool
    over: tuple[int, ...]


@dataclass(frozen=True)
class Layout:
    """One layout. ``fixed`` are bits that always have one value."""

    name: str
    bits: int
    fields: dict[str, Field]
    parity: tuple[Parity, ...] = ()
    fixed: dict[int, int] = field(default_factory=dict)
    what: str = ""
    source: str = ""

    @cached_property
    def data_positions(self) -> tuple[int, ...]:
        """The bits of ``value``: all but parity, in the order of the wire."""
        parity = {p.bit for p in self.parity}
        return tuple(b for b in range(1, self.bits + 1) if b not in parity)

    @cached_property
    def swap_shows(self) -> bool:
        """Whether a swapped data pair (every bit inverted) always breaks a parity or fixed bit.

        Inverting a group of an odd number of bits, parity bit included, changes its parity.
        """
        return bool(self.fixed) or any((len(p.over) + 1) % 2 for p in self.parity)


def _mask(layout: Layout, positions: tuple[int, ...]) -> int:
    mask = 0
    for position in positions:
        mask |= 1 << (layout.bits - position)
    return mask


def encode(layout: Layout, **numbers: int) -> int:
    """The frame of these field values, parity filled in.

    Raises CodesError for an unknown field, a missing one, or a number that does not fit.
    """
    frame = 0
    for position, bit in layout.fixed.items():
        frame |= bit << (layout.bits - position)
    for name in numbers.keys() | layout.fields.keys():
        if name not in layout.fields:
            raise CodesError(f"the layout {layout.name} has no {name}")
        if name not in numbers:
            raise CodesError(f"the layout {layout.name} needs a {name}")
        where, number = layout.fields[name], numbers[name]
        if not 0 <= number <= where.largest:
            raise CodesError(
                f"{name} {number} does not fit the layout {layout.name}: 0 to {where.largest}"
            )
        frame |= number << (layout.bits - where.start - where.width + 1)
    return _with_parity(layout, frame)


def frame_of_value(layout: Layout, value: int) -> int:
    """The frame whose bits other than parity are ``value``, parity filled in."""
    frame = 0
    for position in reversed(layout.data_positions):
        frame |= (value & 1) << (layout.bits - position)
        value >>= 1
    return _with_parity(layout, frame)


def _with_parity(layout: Layout, frame: int) -> int:
    for rule in _in_order(layout.parity):
        odd = (frame & _mask(layout, rule.over)).bit_count() % 2 == 1
        if odd != rule.odd:
            frame |= 1 << (layout.bits - rule.bit)
    return frame


def _in_order(rules: tuple[Parity, ...]) -> tuple[Parity, ...]:
    """Parity over other parity bits comes after those; ``read_layouts`` refuses circles."""
    done: list[Parity] = []
    left = list(rules)
    while left:
        bits = {p.bit for p in left}
        ready = [p for p in left if not bits & set(p.over)]
        if not ready:
            raise CodesError("the parity bits of a layout depend on one another in a circle")
        done += ready
        left = [p for p in left if p not in ready]
    return tuple(done)


@dataclass(frozen=True, slots=True)
class Decoded:
    """A frame read by a layout. ``broken``: parity and fixed bits that are not as they should."""

    layout: str
    numbers: dict[str, int]
    value: int
    """All bits but parity, as one number."""
    broken: tuple[int, ...]


def decode(layout: Layout, frame: int) -> Decoded:
    """Reads a frame. Raises CodesError where it has more bits than the layout."""
    if not 0 <= frame < 1 << layout.bits:
        raise CodesError(f"the number has more than the {layout.bits} bits of {layout.name}")
    numbers = {
        name: (frame >> (layout.bits - f.start - f.width + 1)) & f.largest
        for name, f in layout.fields.items()
    }
    broken = [
        p.bit
        for p in layout.parity
        if ((frame & _mask(layout, (*p.over, p.bit))).bit_count() % 2 == 1) != p.odd
    ]
    broken += [b for b, v in layout.fixed.items() if (frame >> (layout.bits - b)) & 1 != v]
    value = 0
    for position in layout.data_positions:
        value = value << 1 | (frame >> (layout.bits - position)) & 1
    return Decoded(layout.name, numbers, value, tuple(sorted(broken)))


@dataclass(frozen=True, slots=True)
class WireReading:
    """What a received frame says: as it stands, and as it would with the data pair put right."""

    as_received: Decoded
    swapped: Decoded | None
    """Set where only the frame with every bit inverted is right."""
    swap_would_show: bool


def read_wire(layout: Layout, frame: int) -> WireReading:
    """Reads a received frame and says whether the two data wires are swapped.

    Swapped wires invert every bit. A layout whose parity groups all have an even number of bits
    cannot tell; ``swap_would_show`` is then False.
    """
    straight = decode(layout, frame)
    inverted = decode(layout, frame ^ ((1 << layout.bits) - 1))
    swapped = inverted if straight.broken and not inverted.broken else None
    return WireReading(straight, swapped, layout.swap_shows)
