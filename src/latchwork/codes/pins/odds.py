"""How likely a stranger is to get in by trying codes.

With N codes that the rules allow, U of them in use at this keypad, and g different guesses,

    P = 1 − C(N−U, g) / C(N, g)

and the first hit of a systematic search is to be expected at guess (N+1)/(U+1). The stranger knows
the rules and never tries a code twice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from latchwork.codes.pins import rules

NIGHT_S = 12 * 3600.0
"""An unattended night."""
WARN_FROM = 1 / 1000
"""Odds a night from which a warning is given."""
KEY_S = 0.5
"""Fastest time for one key, common practice, no source. It counts where nothing locks out."""


@dataclass(frozen=True, slots=True)
class LockOut:
    """A controller's rule: after ``attempts`` wrong codes nothing is taken for ``seconds``.

    ``attempts`` 0: it never locks out.
    """

    attempts: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Odds:
    """What a stranger can hope for at one keypad. Chances are of getting in at least once."""

    digits: int
    allowed: int
    in_use: int
    guesses_window: int
    guesses_night: int
    window: float
    night: float
    mean_guesses: float
    mean_s: float

    @property
    def warn(self) -> bool:
        """Whether a night gives one chance in a thousand or better."""
        return self.night >= WARN_FROM


def chance(allowed: int, in_use: int, guesses: int) -> float:
    """P = 1 − C(N−U, g)/C(N, g): at least one hit in ``guesses`` different guesses."""
    if not 0 <= in_use <= allowed:
        raise ValueError("more codes in use than there are")
    if guesses <= 0 or in_use == 0:
        return 0.0
    if guesses > allowed - in_use:
        return 1.0
    # The same quotient with the fewer factors, as a sum of logarithms: no cancellation near 0.
    few, many = sorted((guesses, in_use))
    return -math.expm1(math.fsum(math.log1p(-many / (allowed - k)) for k in range(few)))


def guesses_within(seconds: float, digits: int, rule: LockOut) -> int:
    """Different guesses in a span: whole lock-out rounds, then what the last one still gives.

    A round is the lock-out, or the time to key its codes where that is longer: the one favours the
    stranger by the other, so that the odds err upwards.
    """
    one_s = digits * KEY_S
    if rule.attempts <= 0:
        return int(seconds // one_s)
    round_s = max(rule.seconds, rule.attempts * one_s)
    rounds, rest = divmod(seconds, round_s)
    return int(rounds) * rule.attempts + min(rule.attempts, int(rest // one_s))


def odds(digits: int, in_use: int, rule: LockOut) -> Odds:
    """The odds at one keypad where every code in use opens on its own (no card asked first)."""
    allowed = rules.ALLOWED[digits]
    window = rule.attempts if rule.attempts > 0 else guesses_within(60.0, digits, rule)
    night = guesses_within(NIGHT_S, digits, rule)
    mean = (allowed + 1) / (in_use + 1)
    per_guess_s = digits * KEY_S
    if rule.attempts > 0:
        per_guess_s = max(rule.seconds / rule.attempts, per_guess_s)
    return Odds(
        digits,
        allowed,
        in_use,
        window,
        night,
        chance(allowed, in_use, window),
        chance(allowed, in_use, night),
        mean,
        mean * per_guess_s,
    )


_LOCK_OUTS_S = (30, 60, 120, 300, 600, 900, 1800, 3600)
"""Lock-out times that are proposed, common practice, no source."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """One way to fewer chances. ``kind``: length, lock-out, both, or card and PIN.

    ``night`` are the odds it leaves. With card and PIN a stranger without a card has none; the
    figure is for one who found a card.
    """

    kind: str
    digits: int
    lock_out_s: float
    night: float


def proposals(digits: int, in_use: int, rule: LockOut) -> tuple[Proposal, ...]:
    """What would bring a night under the warning, the least change first.

    For this length and each longer one: the shortest lock-out that does, up to an hour. Card and
    PIN is always told.
    """
    found = []
    for length in range(digits, rules.LONGEST + 1):
        better = odds(length, in_use, rule)
        if not better.warn:
            found.append(Proposal("length", length, rule.seconds, better.night))
            break
        for seconds in _LOCK_OUTS_S:
            if rule.attempts <= 0 or seconds <= rule.seconds:
                continue
            better = odds(length, in_use, LockOut(rule.attempts, seconds))
            if not better.warn:
                kind = "lock-out" if length == digits else "both"
                found.append(Proposal(kind, length, seconds, better.night))
                break
    one = odds(digits, min(1, in_use), rule)
    found.append(Proposal("card and PIN", digits, rule.seconds, one.night))
    return tuple(found)
