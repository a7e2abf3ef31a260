"""Which PINs are too easy to guess, and which are too near another person's.

All rules are common practice, no source. The code space that is left (``ALLOWED``) is what a
stranger has to search, since the rules are no secret; it enters the odds, not 10^digits.

- date: DDMM, MMDD or a year 1900–2099 (4 digits); DDMMYY, MMDDYY, YYMMDD, MMYYYY, YYYYMM or
  D M YYYY (6); DDMMYYYY, MMDDYYYY or YYYYMMDD (8); with day or month in one digit D MM YY, DD M YY
  (5), D MM YYYY, DD M YYYY (7)
- run: four keys in a row up or down (4567, 9012), or one and the same step all along (2468, 1470)
- repeat: fewer than three different digits, one digit three times in a row, a block said twice
- keypad shape: a walk over touching keys, or nothing but corners or nothing but the middle cross
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

SHORTEST, LONGEST = 4, 8

ALLOWED = {4: 7002, 5: 55793, 6: 815804, 7: 9184880, 8: 92404148}
"""How many PINs of each length break no rule. Recounted in tests."""

_PAD = {"1": (0, 0), "2": (1, 0), "3": (2, 0), "4": (0, 1), "5": (1, 1), "6": (2, 1)}
_PAD |= {"7": (0, 2), "8": (1, 2), "9": (2, 2), "0": (1, 3)}
_TOUCHING = frozenset(
    a + b
    for a, (ax, ay) in _PAD.items()
    for b, (bx, by) in _PAD.items()
    if a != b and abs(ax - bx) <= 1 and abs(ay - by) <= 1
)
_CORNERS = frozenset("1379")
_CROSS = frozenset("24568")
_RING = "01234567890123456789"
_UP = frozenset(_RING[i : i + 4] for i in range(10))
_RUNS = _UP | {run[::-1] for run in _UP}

_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_DATE_FORMS = {
    4: (((0, 2), (2, 4), None), ((2, 4), (0, 2), None), (None, None, (0, 4))),
    5: (((0, 1), (1, 3), (3, 5)), ((0, 2), (2, 3), (3, 5))),
    6: (
        ((0, 2), (2, 4), (4, 6)),
        ((2, 4), (0, 2), (4, 6)),
        ((4, 6), (2, 4), (0, 2)),
        (None, (0, 2), (2, 6)),
        (None, (4, 6), (0, 4)),
        ((0, 1), (1, 2), (2, 6)),
    ),
    7: (((0, 1), (1, 3), (3, 7)), ((0, 2), (2, 3), (3, 7))),
    8: (
        ((0, 2), (2, 4), (4, 8)),
        ((2, 4), (0, 2), (4, 8)),
        ((6, 8), (4, 6), (0, 4)),
    ),
}
"""Per length: where day, month and year stand, or None where the form has none."""


def _is_date(pin: str) -> bool:
    for day_at, month_at, year_at in _DATE_FORMS.get(len(pin), ()):
        year = pin[slice(*year_at)] if year_at else ""
        if len(year) == 4 and not 1900 <= int(year) <= 2099:
            continue
        month = int(pin[slice(*month_at)]) if month_at else 1
        day = int(pin[slice(*day_at)]) if day_at else 1
        if 1 <= month <= 12 and 1 <= day <= _DAYS[month - 1]:
            return True
    return False


def _is_run(pin: str) -> bool:
    if any(pin[i : i + 4] in _RUNS for i in range(len(pin) - 3)):
        return True
    step = (int(pin[1]) - int(pin[0])) % 10
    return all((int(b) - int(a)) % 10 == step for a, b in pairwise(pin))


def _is_repeat(pin: str) -> bool:
    if len(set(pin)) < 3:
        return True
    if any(pin[i] == pin[i + 1] == pin[i + 2] for i in range(len(pin) - 2)):
        return True
    return any(
        len(pin) % size == 0 and pin == pin[:size] * (len(pin) // size)
        for size in range(2, len(pin) // 2 + 1)
    )


def _is_shape(pin: str) -> bool:
    if all(a + b in _TOUCHING for a, b in pairwise(pin)):
        return True
    used = set(pin)
    return used <= _CORNERS or used <= _CROSS


def weakness(pin: str) -> str | None:
    """What makes a PIN easy to guess: date, run, repeat or keypad shape; None where nothing does.

    Raises ValueError where it is not 4 to 8 digits.
    """
    if not (SHORTEST <= len(pin) <= LONGEST and pin.isascii() and pin.isdecimal()):
        raise ValueError("a PIN is 4 to 8 digits")
    if _is_repeat(pin):
        return "repeat"
    if _is_run(pin):
        return "run"
    if _is_shape(pin):
        return "keypad shape"
    return "date" if _is_date(pin) else None


def near(pin: str) -> Iterator[str]:
    """Every other code that one wrong key, or two keys in each other's place, makes of a PIN."""
    for i, old in enumerate(pin):
        head, tail = pin[:i], pin[i + 1 :]
        for key in "0123456789":
            if key != old:
                yield head + key + tail
        for j in range(i + 1, len(pin)):
            if pin[j] != old:
                yield head + pin[j] + pin[i + 1 : j] + old + pin[j + 1 :]


def blocked_by_one(digits: int) -> int:
    """How many codes of this length one PIN takes out at most: itself and all that are near."""
    return 1 + 9 * digits + digits * (digits - 1) // 2
