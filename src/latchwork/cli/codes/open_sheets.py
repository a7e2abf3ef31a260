"""Sheets that nobody confirmed, in words: what a controller may hold beside what is known."""

from __future__ import annotations

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
    return (
        *(Note("unconfirmed", (controller,), str(number)) for number in waiting),
        *(
            Note("left behind", _things(register, left), str(left.number))
            for left in left_behind(register, controller, grammar)
        ),
    )


def left_lines(register: Register, controller: str, grammar: Grammar | None) -> list[str]:
    """What sheets that were overtaken may have left in a controller."""
    from latchwork.codes.keypad.overtaken import left_behind

    return [
        say(
            "codes.left-behind",
            {
                "number": str(left.number),
                "controller": controller,
                "who": "; ".join(_things(register, left)),
            },
        )
        for left in left_behind(register, controller, grammar)
    ]


def open_numbers(register: Register, controller: str, grammar: Grammar | None) -> str:
    """The numbers of the sheets that may have been keyed in; "" for none."""
    from latchwork.codes.keypad.confirming import unconfirmed
    from latchwork.codes.keypad.overtaken import left_behind

    left = (each.number for each in left_behind(register, controller, grammar))
    return ", ".join(map(str, sorted({*unconfirmed(register, controller), *left})))


def _things(register: Register, left: LeftBehind) -> tuple[str, ...]:
    from latchwork.codes.register.register import name_of

    places = (
        say("codes.place-of", {"place": str(place), "name": name_of(register, person)})
        for place, person in left.places.items()
    )
    times = (say("codes.times-of", {"number": str(number)}) for number in left.times)
    return (*places, *times, *left.settings)
