"""Working out a card's layout from two or three cards: what is printed, and what was received.

Every explanation is weighed by how many bits it takes to say (the rarer the custom, the more) plus
the received bits it leaves to chance. Two explanations that differ by n bits differ in likelihood
by 2^n; the share of the best among all is how sure the answer is. The bits that customs cost are
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from latchwork.codes.cards.free import SWAPPED_BITS, free_layouts
from latchwork.codes.cards.guess import (
    Answer,
    Guess,
    Sample,
    Weighed,
    frames_of,
    merged,
    with_share,
)
from latchwork.codes.cards.layout import Field, Layout, decode
from latchwork.codes.cards.printing import TURNS, Printing, groups, readings, turn_round
from latchwork.codes.errors import CodesError

_KNOWN_BITS = 3.0
_USERS_OWN_BITS = 1.0
_TURN_BITS = 4.0
_UNKNOWN_LENGTH_BITS = 2.0
_NOTHING_BITS = 8.0


def _plain_value(name: str, bits: int) -> Layout:
    return Layout(name, bits, {"number": Field(1, bits)}, what=f"{bits} bits without parity")


def infer(
    samples: Sequence[Sample], known: Mapping[str, Layout], own: Iterable[str] = ()
) -> Answer:
    """Weighs every known layout, the user's own and free ones against the samples.

    Raises CodesError for fewer than two different cards, or lengths that differ.
    """
    if len({s.printed.strip() for s in samples}) < 2:
        raise CodesError("two different cards are needed at least; three make it surer")
    lengths = {s.received.bits for s in samples}
    if len(lengths) > 1:
        raise CodesError("the cards were received with different numbers of bits")
    (bits,) = lengths
    weighed: list[Weighed] = []
    for layout in (*known.values(), _plain_value("24-bit value", 24)):
        if bits is not None and layout.bits != bits:
            continue
        custom = _USERS_OWN_BITS if layout.name in own else _KNOWN_BITS
        custom += 0.0 if bits is not None else _UNKNOWN_LENGTH_BITS
        weighed += _by_layout(samples, layout, custom)
    if bits is not None:
        weighed += free_layouts(samples, bits)
    length = bits or max(max(s.received.value.bit_length() for s in samples), 1)
    nothing = _NOTHING_BITS + length * len(samples)
    return _shares(weighed, nothing, samples)


def _shares(weighed: list[Weighed], nothing: float, samples: Sequence[Sample]) -> Answer:
    if not weighed:
        return Answer((), 1.0)
    least = min(nothing, *(w.bits for w in weighed))
    weights = [2.0 ** (least - w.bits) for w in weighed]
    none = 2.0 ** (least - nothing)
    total = sum(weights) + none
    ordered = sorted(zip(weights, weighed, strict=True), key=lambda pair: -pair[0])
    guesses = [with_share(w.guess, weight / total) for weight, w in ordered]
    return Answer(merged(guesses, samples), none / total)


def _by_layout(samples: Sequence[Sample], layout: Layout, custom: float) -> Iterator[Weighed]:
    for swapped in (False, True):
        frames = frames_of(samples, layout.bits, swapped)
        if frames is None:
            continue
        decoded = [decode(layout, frame) for frame in frames]
        if any(d.broken for d in decoded):
            continue
        start = custom + (SWAPPED_BITS if swapped else 0.0)
        numbers = [d.numbers for d in decoded]
        values = [d.value for d in decoded]
        if "facility" in layout.fields:
            yield from _as_fields(samples, layout, numbers, start, swapped)
        yield from _as_printing(samples, layout, values, start, swapped)


def _as_fields(
    samples: Sequence[Sample],
    layout: Layout,
    numbers: list[dict[str, int]],
    start: float,
    swapped: bool,
) -> Iterator[Weighed]:
    printed = [groups(s.printed) for s in samples]
    others = sum(f.width for n, f in layout.fields.items() if n not in ("facility", "number"))
    if all(p == (n["facility"], n["number"]) for p, n in zip(printed, numbers, strict=True)):
        guess = Guess(layout, "fields", swapped, "", None, others, 0.0, False)
        yield Weighed(guess, start + 1.0 + others * len(samples))
    if all(p[-1:] == (n["number"],) and len(p) == 1 for p, n in zip(printed, numbers, strict=True)):
        width = layout.fields["facility"].width
        same = len({n["facility"] for n in numbers}) == 1
        facility = numbers[0]["facility"] if same else None
        chance = others + (0.0 if same else width)
        cost = (width if same else width * len(samples)) + others * len(samples)
        guess = Guess(layout, "number only", swapped, "", facility, chance, 0.0, False)
        yield Weighed(guess, start + 1.0 + cost)


def _as_printing(
    samples: Sequence[Sample], layout: Layout, values: list[int], start: float, swapped: bool
) -> Iterator[Weighed]:
    """The printed text as one number, of which the frame carries the low bits or more."""
    width = len(layout.data_positions)
    turns = TURNS if width % 8 == 0 else ("",)
    for turn in turns:
        turned = [turn_round(v, width, turn) for v in values]
        for printing in _common_printings(samples):
            both = min(width, printing.bits)
            low = (1 << both) - 1
            texts = [_reading(s.printed, printing) for s in samples]
            if any((t ^ v) & low for t, v in zip(texts, turned, strict=True)):
                continue
            unseen = width - both
            high = {v >> both for v in turned}
            cost = unseen if len(high) == 1 else unseen * len(samples)
            custom = 2.0 + (_TURN_BITS if turn else 0.0) + (1.0 if printing.turn else 0.0)
            chance = 0.0 if len(high) == 1 else unseen
            above = high.pop() if len(high) == 1 else 0
            guess = Guess(layout, printing.name, swapped, turn, None, chance, 0.0, False, above)
            yield Weighed(guess, start + custom + cost)


def _common_printings(samples: Sequence[Sample]) -> list[Printing]:
    common: list[Printing] | None = None
    for sample in samples:
        these = [p for p, _ in readings(sample.printed)]
        common = these if common is None else [p for p in common if p in these]
    return common or []


def _reading(text: str, printing: Printing) -> int:
    return next(value for found, value in readings(text) if found == printing)
