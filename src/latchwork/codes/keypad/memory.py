"""What a simulated controller remembers."""

from __future__ import annotations

from dataclasses import dataclass, field

import msgspec

from latchwork.codes.content import Content, Span, User
from latchwork.codes.keypad.grammar import Grammar

_EMPTY = User()


@dataclass(slots=True, repr=False)
class Memory:
    """A controller's memory at work. ``pins`` and ``cards`` say which place has one."""

    users: dict[int, User] = field(default_factory=dict)
    settings: dict[str, str] = field(default_factory=dict)
    codes: dict[str, str] = field(default_factory=dict)
    times: dict[int, tuple[Span, ...]] = field(default_factory=dict)
    holidays: tuple[str, ...] = ()
    clock: str = ""
    pins: dict[str, int] = field(default_factory=dict)
    cards: dict[str, int] = field(default_factory=dict)
    ran: list[str] = field(default_factory=list)

    def put(self, place: int, user: User) -> None:
        """Writes one place, keeping the indexes right."""
        old = self.users.pop(place, None)
        if old is not None:
            self.pins.pop(old.pin, None)
            for card in old.cards:
                self.cards.pop(card, None)
        if user.empty:
            return
        self.users[place] = user
        if user.pin:
            self.pins[user.pin] = place
        for card in user.cards:
            self.cards[card] = place

    def content(self) -> Content:
        """The memory as plain data. Times without hours and empty places are not there."""
        return Content(
            users=dict(sorted(self.users.items())),
            settings=dict(sorted(self.settings.items())),
            codes=dict(sorted(self.codes.items())),
            times={n: tuple(sorted(set(s))) for n, s in sorted(self.times.items()) if s},
            holidays=tuple(sorted(set(self.holidays))),
            clock=self.clock,
        )

    def copy(self) -> Memory:
        """An independent copy."""
        return Memory(
            dict(self.users),
            dict(self.settings),
            dict(self.codes),
            dict(self.times),
            self.holidays,
            self.clock,
            dict(self.pins),
            dict(self.cards),
            list(self.ran),
        )


def memory_of(content: Content) -> Memory:
    """A memory that holds what ``content`` says."""
    memory = Memory(
        settings=dict(content.settings),
        codes=dict(content.codes),
        times=dict(content.times),
        holidays=tuple(content.holidays),
        clock=content.clock,
    )
    for place, user in content.users.items():
        memory.put(place, user)
    return memory


def carried_over(content: Content, grammar: Grammar) -> Content:
    """What a controller holds, as another grammar for the same unit speaks of it."""
    fresh = factory_content(grammar)
    return msgspec.structs.replace(
        content,
        settings={name: content.settings.get(name, v) for name, v in fresh.settings.items()},
        codes={kind: content.codes.get(kind, v) for kind, v in fresh.codes.items()},
    )


def factory_content(grammar: Grammar) -> Content:
    """What a controller holds when it leaves its box."""
    return Content(
        settings={name: spec.factory for name, spec in sorted(grammar.settings.items())},
        codes=dict(sorted(grammar.factory_codes.items())),
    )
