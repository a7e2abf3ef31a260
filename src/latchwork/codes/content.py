"""What one controller holds: its users by place, settings, codes, times and holidays.

Reprs of this data show no code.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

Span = tuple[int, int, int]
"""(weekday with Monday 0, first minute of the day, minute it ends)."""


class User(msgspec.Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """Who stands in one place. Empty where nobody does."""

    pin: str = ""
    cards: tuple[str, ...] = ()
    """Numbers as the controller counts them, decimal, no leading zeros."""
    finger: bool = False
    relay: str = "1"
    times: int = 0
    """Number of the weekly times that hold; 0 always."""
    until: str = ""
    """Last day as YYYY-MM-DD; "" for ever."""
    kind: str = "normal"
    """normal, visitor, single use or duress."""

    def __repr__(self) -> str:
        held = [*(["PIN"] if self.pin else []), *(f"card {c}" for c in self.cards)]
        return f"User({', '.join(held)}, {self.kind})"

    @property
    def empty(self) -> bool:
        """Whether nothing here could open a door."""
        return not (self.pin or self.cards or self.finger)


class Content(msgspec.Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """A controller's memory. ``settings`` by name of ``keypad.vocabulary``, values as text."""

    users: Mapping[int, User] = {}
    settings: Mapping[str, str] = {}
    codes: Mapping[str, str] = {}
    """installer, manager, master (digits), master card (a number)."""
    times: Mapping[int, tuple[Span, ...]] = {}
    holidays: tuple[str, ...] = ()
    clock: str = ""
    """When the clock was last set, YYYY-MM-DDTHH:MM site time; "" never."""

    def __repr__(self) -> str:
        return f"Content({len(self.users)} users, {len(self.settings)} settings)"
