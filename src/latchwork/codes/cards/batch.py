"""Printed card numbers turned into numbers on the wire, one card or a whole box."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from latchwork.codes.cards.layout import Layout, decode, encode, frame_of_value
from latchwork.codes.cards.printing import groups, readings
from latchwork.codes.errors import CodesError


@dataclass(frozen=True, slots=True)
class CardNumber:
    """What a printed number means. ``value``: the bits on the wire without parity."""

    value: int
    facility: int | None
    number: int


def read_printed(
    layout: Layout, printed: str, facility: int | None = None, printing: str = ""
) -> CardNumber:
    """The card behind a printed number.

    ``facility`` is used where the print leaves it out; ``printing`` names a convention where
    several would do. Raises CodesError, with what fits, where the print cannot be read so.
    """
    if printing:
        fitting = [v for p, v in readings(printed) if p.name == printing]
        if not fitting:
            raise CodesError(f"{printed[:40]!r} is not printed as {printing}")
        return _of_value(layout, fitting[0])
    numbers = groups(printed)
    if "facility" in layout.fields and len(numbers) in (1, 2):
        site = numbers[0] if len(numbers) == 2 else facility
        if site is None:
            raise CodesError(
                f"{printed[:40]!r} has one number, and {layout.name} a facility code too: "
                "give it as 45,12345, or the facility once for all"
            )
        frame = encode(layout, **_others(layout), facility=site, number=numbers[-1])
        return CardNumber(decode(layout, frame).value, site, numbers[-1])
    values = {v for _, v in readings(printed)}
    if len(numbers) == 1:
        # A plain decimal is taken as it stands before any turning round of bytes.
        values = {numbers[0]}
    if not values:
        raise CodesError(f"{printed[:40]!r} is no card number")
    if len(values) > 1:
        names = ", ".join(f'"{p.name}"' for p, _ in readings(printed))
        raise CodesError(f"{printed[:40]!r} could be printed as {names}; say which by --printing")
    return _of_value(layout, values.pop())


def _others(layout: Layout) -> dict[str, int]:
    return {n: 0 for n in layout.fields if n not in ("facility", "number")}


def _of_value(layout: Layout, value: int) -> CardNumber:
    if value >> len(layout.data_positions):
        raise CodesError(f"the number does not fit the layout {layout.name}")
    numbers = decode(layout, frame_of_value(layout, value)).numbers
    return CardNumber(value, numbers.get("facility"), numbers["number"])


@dataclass(frozen=True, slots=True)
class BatchFinding:
    """Something about one card of a list. ``kind``: unreadable, twice, taken or other facility."""

    line: int
    printed: str
    kind: str
    detail: str


@dataclass(frozen=True, slots=True)
class Batch:
    """A list of cards read. ``facility``: the one most cards have."""

    cards: Mapping[int, CardNumber]
    """By line of the list."""
    facility: int | None
    findings: tuple[BatchFinding, ...]


def check_batch(
    layout: Layout,
    printed: Iterable[tuple[int, str]],
    taken: Mapping[int, str],
    facility: int | None = None,
    printing: str = "",
) -> Batch:
    """Reads a list of (line, print) and finds doubles, misfits and strays.

    ``taken`` says by value who has a card already; ``facility`` is the one expected, else the one
    that most cards have.
    """
    cards: dict[int, CardNumber] = {}
    prints = dict(printed)
    findings: list[BatchFinding] = []
    for line, text in prints.items():
        try:
            cards[line] = read_printed(layout, text, facility, printing)
        except CodesError as error:
            findings.append(BatchFinding(line, text, "unreadable", str(error)))
    sites = Counter(card.facility for card in cards.values())
    usual = facility if facility is not None else next((s for s, _ in sites.most_common(1)), None)
    first: dict[int, int] = {}
    for line, card in cards.items():
        if card.value in first:
            detail = f"line {first[card.value]}"
            findings.append(BatchFinding(line, prints[line], "twice", detail))
        first.setdefault(card.value, line)
        if card.value in taken:
            findings.append(BatchFinding(line, prints[line], "taken", taken[card.value]))
        if card.facility != usual:
            detail = f"{card.facility}, the others {usual}"
            findings.append(BatchFinding(line, prints[line], "other facility", detail))
    return Batch(cards, usual, tuple(sorted(findings, key=lambda f: f.line)))
