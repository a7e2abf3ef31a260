"""Card layouts that nobody has described: the printed number somewhere in the frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from latchwork.codes.cards.guess import Guess, Sample, Weighed, frames_of
from latchwork.codes.cards.layout import Field, Layout, Parity, decode
from latchwork.codes.cards.printing import groups

_FREE_BITS = 16.0
_STANDARD_PARITY_BITS = 2.0
SWAPPED_BITS = 6.0


def _standard_parity(bits: int) -> tuple[Parity, ...]:
    """Even in front over the first half, odd at the end over the second; the halves may overlap."""
    half = (bits - 1) // 2
    first = tuple(range(2, 2 + half))
    second = tuple(range(bits - half, bits))
    return Parity(1, False, first), Parity(bits, True, second)


def free_layouts(samples: Sequence[Sample], bits: int) -> Iterator[Weighed]:
    """Layouts nobody has described: the printed number somewhere in the frame."""
    printed = [groups(s.printed) for s in samples]
    if not all(len(p) in (1, 2) for p in printed) or len({len(p) for p in printed}) > 1:
        return
    for swapped in (False, True):
        frames = frames_of(samples, bits, swapped)
        if frames is None:
            continue
        for rules in ((), _standard_parity(bits)) if bits >= 10 else ((),):
            shell = Layout("", bits, {}, rules)
            if any(decode(shell, frame).broken for frame in frames):
                continue
            yield from _windows(printed, frames, bits, rules, swapped)


def _windows(
    printed: list[tuple[int, ...]],
    frames: list[int],
    bits: int,
    rules: tuple[Parity, ...],
    swapped: bool,
) -> Iterator[Weighed]:
    edge = 1 if rules else 0
    numbers = [p[-1] for p in printed]
    for number in _fitting(numbers, frames, bits, edge):
        if len(printed[0]) == 2:
            sites = [p[0] for p in printed]
            before: list[Field | None] = [
                f
                for f in _fitting(sites, frames, bits, edge)
                if f.start + f.width <= number.start or f.start >= number.start + number.width
            ]
        else:
            before = [None]
        for site in before:
            yield _weigh_free(frames, bits, rules, swapped, number, site)


def _fitting(numbers: list[int], frames: list[int], bits: int, edge: int) -> list[Field]:
    """Every run of bits that holds these numbers in these frames, and not more zeros than that."""
    least = max(max(n.bit_length() for n in numbers), 1)
    found = []
    for start in range(1 + edge, bits - edge - least + 2):
        for width in range(least, bits - edge - start + 2):
            shift = bits - start - width + 1
            low = (1 << width) - 1
            if all(f >> shift & low == n for f, n in zip(frames, numbers, strict=True)):
                found.append(Field(start, width))
    return found


def _weigh_free(
    frames: list[int],
    bits: int,
    rules: tuple[Parity, ...],
    swapped: bool,
    number: Field,
    site: Field | None,
) -> Weighed:
    fields = {"number": number} if site is None else {"facility": site, "number": number}
    taken = {b for f in fields.values() for b in f.positions} | {p.bit for p in rules}
    rest = [b for b in range(1, bits + 1) if b not in taken]
    fixed = {}
    for bit in rest:
        values = {f >> (bits - bit) & 1 for f in frames}
        if len(values) == 1:
            fixed[bit] = values.pop()
    # A bit that is the same on every card costs its value once, another its value on each card.
    chance = len(rest) - len(fixed)
    cost = len(fixed) + chance * len(frames) + _FREE_BITS
    cost += _STANDARD_PARITY_BITS if rules else 0.0
    cost += SWAPPED_BITS if swapped else 0.0
    # Widths of 8, 16, 24 and 32 are the custom.
    cost += sum(0.0 if f.width % 8 == 0 else 2.0 for f in fields.values())
    name = f"{bits}-bit, number in bits {number.start} to {number.start + number.width - 1}"
    layout = Layout(name, bits, fields, rules, fixed)
    reads = "fields" if site is not None else "number only"
    return Weighed(Guess(layout, reads, swapped, "", None, chance, 0.0, True), cost)
