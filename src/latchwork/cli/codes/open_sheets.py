"""Sheets that nobody confirmed, in words: what a controller may hold beside what is known."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from latchwork.words import say

if TYPE_CHECKING:
    from latchwork.codes.keypad.grammar import Grammar
    from latchwork.codes.keypad.overtaken import LeftBehind
    from latchwork.codes.keypad.wanted import Note
    from latchwork.codes.register.register import Register


def open_notes(register: Register, controller: str, grammar: Grammar, own: int) -> tuple[Note, ...]:
    """Notes on a sheet, number ``own``, of those before it."""
    from latchwork.codes.keypad.confirming import unconfirmed
    from latchwork.codes.keypad.overtaken import left_behind
    from latchwork.codes.keypad.wanted import Note

    waiting = (n for n in unconfirmed(register, controller) if n != own)
    overtaken = left_behind(register, controller, grammar)
    return (
        *(Note("unconfirmed", (controller,), str(number)) for number in waiting),
        *(
            Note(f"left {way}", things, str(left.number))
            for left in overtaken
            for way, things in _ways(register, left)
        ),
    )


def left_lines(register: Register, controller: str, grammar: Grammar | None) -> list[str]:
    """What sheets that were overtaken may have left in a controller."""
    from latchwork.codes.keypad.overtaken import left_behind

    return [
        say(
            f"codes.left-{way}",
            {"number": str(left.number), "controller": controller, "who": "; ".join(things)},
        )
        for left in left_behind(register, controller, grammar)
        for way, things in _ways(register, left)
    ]


def open_numbers(register: Register, controller: str, grammar: Grammar | None) -> str:
    """The numbers of the sheets that may have been keyed in; "" for none."""
    from latchwork.codes.keypad.confirming import unconfirmed
    from latchwork.codes.keypad.overtaken import left_behind

    left = (each.number for each in left_behind(register, controller, grammar))
    return ", ".join(map(str, sorted({*unconfirmed(register, controller), *left})))


def _ways(register: Register, left: LeftBehind) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What may be in it still, and what may be in it no more; each where there is anything."""
    days = _listed(left.times, left.holidays)
    behind = (*_places(register, left.places), *days, *left.settings)
    if behind:
        yield "behind", behind
    out = (*_places(register, left.gone), *_listed(left.fewer_times, left.fewer_holidays))
    if out:
        yield "out", out


def _listed(times: Iterable[int], holidays: Iterable[str]) -> Iterator[str]:
    for number in times:
        yield say("codes.times-of", {"number": str(number)})
    for day in holidays:
        yield say("codes.holiday-of", {"day": day})


def _places(register: Register, places: Mapping[int, str]) -> Iterator[str]:
    from latchwork.codes.register.register import name_of

    for place, person in places.items():
        yield say("codes.place-of", {"place": str(place), "name": name_of(register, person)})
