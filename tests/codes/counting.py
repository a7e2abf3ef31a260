"""Counts the PINs that the rules allow without trying them: digit by digit, then the few the rest
of the rules take out. An independent reading of the rules of ``codes.pins.rules``."""

from __future__ import annotations

from collections import Counter
from itertools import product

KEYS = ["123", "456", "789", " 0 "]
WHERE = {key: (r, c) for r, row in enumerate(KEYS) for c, key in enumerate(row) if key != " "}


def touches(a: str, b: str) -> bool:
    (ar, ac), (br, bc) = WHERE[a], WHERE[b]
    return a != b and max(abs(ar - br), abs(ac - bc)) == 1


def local(pin: str) -> bool:
    """Whether a code passes the rules that look at keys one after another."""
    for run in range(len(pin) - 3):
        steps = {(int(pin[run + k + 1]) - int(pin[run + k])) % 10 for k in range(3)}
        if steps in ({1}, {9}):
            return False
    if any(len(set(pin[k : k + 3])) == 1 for k in range(len(pin) - 2)) or len(set(pin)) < 3:
        return False
    if set(pin) <= set("1379") or set(pin) <= set("24568"):
        return False
    return not all(touches(pin[k], pin[k + 1]) for k in range(len(pin) - 1))


def count_local(digits: int) -> int:
    """How many codes pass ``local``, by dynamic programming over their last keys."""
    states: Counter[tuple[object, ...]] = Counter()
    for d in range(10):
        key = str(d)
        states[d, 1, 1, 1, frozenset(key), True, key in "1379", key in "24568"] += 1
    for _ in range(digits - 1):
        following: Counter[tuple[object, ...]] = Counter()
        for (last, same, up, down, used, walk, corners, cross), n in states.items():
            assert isinstance(last, int)
            assert isinstance(same, int)
            assert isinstance(up, int)
            assert isinstance(down, int)
            for d in range(10):
                key = str(d)
                s = same + 1 if d == last else 1
                u = up + 1 if d == (last + 1) % 10 else 1
                w = down + 1 if d == (last - 1) % 10 else 1
                if s == 3 or u == 4 or w == 4:
                    continue
                seen = None
                if isinstance(used, frozenset):
                    seen = used | {key}
                    seen = None if len(seen) > 2 else seen
                flags = (
                    walk and touches(str(last), key),
                    corners and key in "1379",
                    cross and key in "24568",
                )
                following[(d, s, u, w, seen, *flags)] += n
        states = following
    return sum(
        n
        for (*_, used, walk, corners, cross), n in states.items()
        if used is None and not walk and not corners and not cross
    )


def days() -> list[tuple[int, int]]:
    long = {1, 3, 5, 7, 8, 10, 12}
    return [
        (d, m)
        for m in range(1, 13)
        for d in range(1, (31 if m in long else 29 if m == 2 else 30) + 1)
    ]


def dates(digits: int) -> set[str]:
    """Every code of this length that reads as a date."""
    centuries, years = range(1900, 2100), range(100)
    found: set[str] = set()
    if digits == 4:
        found |= {f"{d:02}{m:02}" for d, m in days()} | {f"{m:02}{d:02}" for d, m in days()}
        found |= {str(y) for y in centuries}
    for d, m in days():
        if digits == 5:
            found |= {f"{d}{m:02}{y:02}" for y in years if d < 10}
            found |= {f"{d:02}{m}{y:02}" for y in years if m < 10}
        if digits == 6:
            for y in years:
                found |= {f"{d:02}{m:02}{y:02}", f"{m:02}{d:02}{y:02}", f"{y:02}{m:02}{d:02}"}
            found |= {f"{m:02}{y}" for y in centuries} | {f"{y}{m:02}" for y in centuries}
            found |= {f"{d}{m}{y}" for y in centuries if d < 10 and m < 10}
        if digits == 7:
            found |= {f"{d}{m:02}{y}" for y in centuries if d < 10}
            found |= {f"{d:02}{m}{y}" for y in centuries if m < 10}
        if digits == 8:
            for y in centuries:
                found |= {f"{d:02}{m:02}{y}", f"{m:02}{d:02}{y}", f"{y}{m:02}{d:02}"}
    return found


def one_step(digits: int) -> set[str]:
    """Every code whose keys follow one another at one and the same step."""
    return {
        "".join(str((first + step * k) % 10) for k in range(digits))
        for first, step in product(range(10), repeat=2)
    }


def blocks(digits: int) -> set[str]:
    """Every code that says a shorter block twice or more."""
    return {
        f"{block:0{size}d}" * (digits // size)
        for size in range(1, digits // 2 + 1)
        if digits % size == 0
        for block in range(10**size)
    }


def count_allowed(digits: int) -> int:
    """How many PINs of this length break no rule."""
    others = dates(digits) | one_step(digits) | blocks(digits)
    return count_local(digits) - sum(map(local, others))
