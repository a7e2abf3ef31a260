"""Ways of joining the cores of a unit that is off the wall."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

ALL_PARTITIONS = 6
"""Up to so many cores every way is tried."""


def partitions(items: Sequence[str]) -> Iterator[tuple[tuple[str, ...], ...]]:
    """Every partition of ``items``, as restricted growth strings run; groups of one left out."""

    def grow(n: int, groups: list[list[str]]) -> Iterator[tuple[tuple[str, ...], ...]]:
        if n == len(items):
            yield tuple(tuple(g) for g in groups if len(g) > 1)
            return
        for group in groups:
            group.append(items[n])
            yield from grow(n + 1, groups)
            group.pop()
        groups.append([items[n]])
        yield from grow(n + 1, groups)
        groups.pop()

    yield from grow(0, [])


def joins(items: Sequence[str]) -> Iterator[tuple[tuple[str, ...], ...]]:
    """The ways of joining that are tried for these cores."""
    if len(items) <= ALL_PARTITIONS:
        yield from partitions(items)
        return
    yield ()
    for size in range(2, len(items) + 1):
        for group in combinations(items, size):
            yield (group,)
    for one in combinations(items, 2):
        for other in combinations([i for i in items if i not in one], 2):
            if one < other:
                yield (one, other)


def bell(count: int) -> int:
    """How many partitions a set of ``count`` things has (Bell's numbers)."""
    row = [1]
    for _ in range(count - 1):
        fresh = [row[-1]]
        for value in row:
            fresh.append(fresh[-1] + value)
        row = fresh
    return row[-1]
