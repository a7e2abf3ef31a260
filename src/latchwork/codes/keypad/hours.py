"""Hours as a controller keeps them: by numbers, one set a person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

import msgspec

from latchwork.codes.content import Content, Span, User
from latchwork.codes.keypad.fieldspec import to_keys
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.register.changes import ALWAYS
from latchwork.codes.register.register import Register

EVER = None
"""Hours that have no end."""


def joined_hours(register: Register, names: Iterable[str]) -> tuple[Span, ...] | None:
    """The hours of all these weekly times together; ``EVER`` where they are always, or none."""
    names = set(names)
    if ALWAYS in names or not names:
        return EVER
    known = [register.times[n] for n in names if n in register.times]
    return tuple(sorted({span for times in known for span in times.spans}))


def keeps_hours(grammar: Grammar) -> bool:
    """Whether this kind of controller can be told hours."""
    return grammar.can("set times") and grammar.can("add times")


class HourNumbers:
    """Numbers for the hours that a controller is to hold.

    Hours that it holds already keep their number, so that nobody is keyed anew for a new name.
    """

    def __init__(self, register: Register, held: Content, grammar: Grammar) -> None:
        self._register = register
        self._held = held
        self._grammar = grammar
        self._held_numbers = {spans: n for n, spans in held.times.items()}
        self._numbers: dict[tuple[Span, ...], int] = {}

    def number(self, names: Iterable[str]) -> int:
        """The number of these weekly times together, until they are settled."""
        spans = joined_hours(self._register, names) or ()
        if spans not in self._numbers:
            taken = {*self._numbers.values(), *self._held_numbers.values()}
            free = next(n for n in range(1, len(taken) + 2) if n not in taken)
            self._numbers[spans] = self._held_numbers.get(spans, free)
        return self._numbers[spans]

    def settled(
        self, users: Mapping[int, User]
    ) -> tuple[dict[int, User], dict[int, tuple[Span, ...]]]:
        """The users, and the hours by number: new hours of people whose old ones nobody has any
        more take over the number of those, so that no place is keyed anew. Users whose hours no
        number is left for are not among them."""
        meant = {user.times for user in users.values()} - {0}
        kept = set(self._held.times)
        together = Counter(
            (user.times, self._held.users[place].times)
            for place, user in users.items()
            if place in self._held.users
        )
        now: dict[int, int] = {}
        for (new, old), _ in together.most_common():
            free = old in kept - meant and old not in now.values()
            if free and new in meant - kept and new not in now:
                now[new] = old
        wanting = sorted(n for n in meant - now.keys() if not self._fits(n))
        in_use = {now.get(n, n) for n in meant}
        every = kept.union(self._numbers.values()) - in_use
        now |= zip(wanting, sorted(n for n in every if self._fits(n)), strict=False)
        meant -= set(wanting) - now.keys()
        renumbered = {
            place: msgspec.structs.replace(user, times=now.get(user.times, user.times))
            for place, user in users.items()
            if user.times in {0, *meant}
        }
        hours = {now.get(n, n): spans for spans, n in self._numbers.items() if n in meant and spans}
        return renumbered, hours

    def _fits(self, number: int) -> bool:
        """Whether this kind of controller has hours of that number."""
        return to_keys(self._grammar.fields["times"], str(number)) is not None
