"""Giving out PINs from the system's secure random source."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import dataclass

from latchwork.codes.errors import CodesError
from latchwork.codes.pins import rules
from latchwork.codes.secret import Secret

_TRIES = 100_000
_COUNT_OUT = 5
"""Up to this length the codes left are counted one by one; beyond, a bound is told."""


@dataclass(frozen=True, slots=True)
class Room:
    """How many more people a length can carry. ``at_least`` holds whatever is drawn."""

    digits: int
    at_least: int
    counted: bool
    """Whether the free codes were counted one by one; else they are bounded from below."""


class PinSpace:
    """The PINs of one site: what is used, and what may still be given.

    ``used`` are the PINs people hold and the controllers' own codes: a new PIN keeps away from
    them by two keys. ``former`` may not come back as they were, but a near one may.
    """

    def __init__(self, used: Iterable[Secret], former: Iterable[Secret] = ()) -> None:
        self._used: set[str] = set()
        self._former = {pin.reveal() for pin in former}
        self._blocked: set[str] = set(self._former)
        self._starts: set[str] = set()
        for pin in used:
            self._take(pin.reveal())

    def __repr__(self) -> str:
        return f"PinSpace({len(self._used)} used)"

    def _take(self, pin: str) -> None:
        self._used.add(pin)
        self._blocked.add(pin)
        self._blocked.update(rules.near(pin))
        self._starts.update(pin[:size] for size in range(rules.SHORTEST, len(pin)))

    def fault(self, pin: str) -> str | None:
        """Why a PIN may not be given; None where it may.

        That it is used, or was given before, comes first: a weak one may be put up with, these not.
        One that begins another, or that another begins, is refused: a controller that takes
        lengths as they come would let its holder in before the last key.
        """
        if pin in self._used:
            return "used"
        if pin in self._former:
            return "given before"
        if (weak := rules.weakness(pin)) is not None:
            return weak
        if pin in self._blocked:
            return "near"
        if pin in self._starts:
            return "begins"
        if any(pin[:size] in self._used for size in range(rules.SHORTEST, len(pin))):
            return "begins"
        return None

    def allocate(self, digits: int) -> Secret:
        """A PIN that breaks no rule and is near nobody's, every such PIN being equally likely.

        Raises CodesError where the length has no room left.
        """
        if not rules.SHORTEST <= digits <= rules.LONGEST:
            raise CodesError(f"a PIN has {rules.SHORTEST} to {rules.LONGEST} digits")
        size = 10**digits
        for _ in range(_TRIES):
            pin = f"{secrets.randbelow(size):0{digits}d}"
            if self.fault(pin) is None:
                self._take(pin)
                return Secret(pin)
        raise CodesError(
            f"PINs of {digits} digits are used up: each keeps away from every other by two keys. "
            f"Take {digits + 1} digits."
            if digits < rules.LONGEST
            else f"PINs of {digits} digits are used up"
        )

    def take(self, pin: Secret) -> None:
        """Counts a PIN as used that was given elsewhere."""
        self._take(pin.reveal())

    def room(self, digits: int) -> Room:
        """How many more people this length is sure to carry, whichever PINs are drawn.

        Each PIN given takes out at most 1 + 9·d + d·(d − 1)/2 codes, so that F free codes carry
        at least F over that many, rounded up.
        """
        each = rules.blocked_by_one(digits)
        if digits <= _COUNT_OUT:
            free = sum(self.fault(f"{n:0{digits}d}") is None for n in range(10**digits))
            return Room(digits, -(-free // each), True)
        same = sum(len(pin) == digits for pin in self._blocked)
        longer = sum(len(start) == digits for start in self._starts)
        shorter = sum(10 ** (digits - len(pin)) for pin in self._used if len(pin) < digits)
        free = max(0, rules.ALLOWED[digits] - same - longer - shorter)
        return Room(digits, -(-free // each), False)
