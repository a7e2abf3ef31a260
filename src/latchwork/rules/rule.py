"""What a rule is: codes, a source, and a function from the site as run to findings."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum

from latchwork.findings import Finding
from latchwork.rules.view import View


class Uses(StrEnum):
    """Which figures the findings of a rule hang on."""

    NOTHING = "nothing"
    """Facts alone; the rule names those that are guesses itself."""
    FEED = "feed"
    """The lock, what feeds it, and the cables its current runs through."""
    DOOR = "door"
    """Everything of the door and its supplies."""
    SUPPLY = "supply"
    """Everything that hangs on the supply."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule. ``codes`` are the rule codes its findings carry; ``find`` looks, and finds or not."""

    codes: tuple[str, ...]
    source: str
    find: Callable[[View], Iterable[Finding]]
    uses: Uses = Uses.NOTHING
