"""Tests of the service plan that are one for several doors: a supply is switched off once, and all
its doors are looked at while it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from latchwork.answers.service import ServiceLine, in_words
from latchwork.words import say


@dataclass(frozen=True, slots=True)
class Together:
    """One test of a supply: what is looked at, at which doors; and what all of that finds."""

    supply: str
    looks: tuple[ServiceLine, ...]

    @property
    def every_months(self) -> int:
        """How often it is made."""
        return self.looks[0].every_months

    @property
    def given(self) -> str:
        """What is brought about, in words."""
        return self.looks[0].given

    def do(self, look: ServiceLine) -> str:
        """What to do at a door, once that is brought about."""
        return in_words(look.situation, look.moment == "held", say("service.then"))

    @property
    def told(self) -> tuple[str, ...]:
        """The faults that it finds, each once."""
        return tuple(dict.fromkeys(text for look in self.looks for text in look.told))


def together(lines: Iterable[ServiceLine]) -> tuple[Together, ...]:
    """The tests of a supply that several doors have a line for, in the order of a visit."""
    found: dict[tuple[str, int, tuple[int, int]], list[ServiceLine]] = defaultdict(list)
    turn: dict[str, int] = {}
    for line in lines:
        if line.supply:
            turn.setdefault(line.supply, len(turn))
            found[line.supply, line.every_months, line.stage].append(line)
    order = sorted(found, key=lambda key: (turn[key[0]], *key[1:]))
    return tuple(
        Together(key[0], tuple(found[key]))
        for key in order
        if len({look.door for look in found[key]}) > 1
    )
