"""What two texts of a job say otherwise, in the job's own terms."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from latchwork.job.changes.spots import Spot, read_spots
from latchwork.job.changes.writing import Value, inline


@dataclass(frozen=True, slots=True)
class Difference:
    """One path that says something else: ``old`` and ``new`` on one line each, None where the
    path is not there."""

    path: str
    old: str | None
    new: str | None


def differences(old: str, new: str) -> tuple[Difference, ...]:
    """Every path at which two texts differ, the outermost that is only in one of them. Raises
    JobErrors where a text cannot be read."""
    return tuple(_between(read_spots(old), read_spots(new), ""))


def _between(old: Spot, new: Spot, path: str) -> Iterator[Difference]:
    alike = old.table == new.table and (old.text is None) == (new.text is None)
    if not alike or old.text is not None or not (old.table or len(old.entries) == len(new.entries)):
        told = inline(reading(old)), inline(reading(new))
        if told[0] != told[1]:
            yield Difference(path, *told)
        return
    names = dict.fromkeys([e.name for e in old.entries] + [e.name for e in new.entries])
    for name in names:
        before, after = old.entry(name), new.entry(name)
        inner = f"{path}.{name}" if path else name
        if before is not None and after is not None:
            yield from _between(before.value, after.value, inner)
        elif before is not None:
            yield Difference(inner, inline(reading(before.value)), None)
        elif after is not None:
            yield Difference(inner, None, inline(reading(after.value)))


def reading(spot: Spot) -> Value:
    """What a value reads as, whatever its layout."""
    if spot.text is not None:
        return spot.text
    if spot.table:
        return {e.name: reading(e.value) for e in spot.entries}
    return [reading(e.value) for e in spot.entries]
