"""Faults in company: when one waits unnoticed for a second, and what the two do together."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from latchwork.faults.consequences import EFFECTS, Judged
from latchwork.faults.door_facts import Cases
from latchwork.faults.model import GRAVE, WAITING, Effect, Fault, FaultKind

_POLE = re.compile(r"contact (N[CO])\d* (.+)")


@dataclass(frozen=True, slots=True)
class Look:
    """What some edits do to a door: their effects, each with the situation that it shows in;
    whether daily use differs."""

    effects: Mapping[Effect, str]
    daily: bool

    @property
    def waits(self) -> bool:
        """Whether nobody notices, so that it is still there when a second fault comes."""
        return not self.daily and not self.effects.keys() & (set(GRAVE) - set(WAITING))


def looked(judged: Judged, cases: Cases) -> Iterator[Look]:
    """A look at each member judged."""
    for m in range(len(judged.daily)):
        effects = {
            EFFECTS[n]: cases.keys[judged.columns[m, n]]
            for n in np.flatnonzero(judged.effects[m]).tolist()
        }
        yield Look(effects, bool(judged.daily[m]))


def together(one: Look, other: Look, both: Look) -> tuple[Effect, str] | None:
    """The worst that two faults do and neither does alone, and in which situation."""
    alone = one.effects.keys() | other.effects.keys()
    return next(((e, both.effects[e]) for e in GRAVE if e in both.effects.keys() - alone), None)


def twins(faults: Sequence[Fault]) -> list[tuple[int, int]]:
    """Faults that befall contacts of one part which open or close together: each pole of a release
    by itself. By their places."""
    found: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for n, fault in enumerate(faults):
        pole = _POLE.fullmatch(fault.state)
        if fault.kind is FaultKind.STATE and pole:
            found[fault.subjects[0], pole[1], pole[2]].append(n)
    return [pair for some in found.values() for pair in combinations(some, 2)]
