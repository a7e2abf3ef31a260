"""Faults in company: when one waits unnoticed for a second, and what the two do together."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from latchwork.behaviour.network import Things
from latchwork.elements import expr_flags
from latchwork.faults.consequences import EFFECTS, Judged
from latchwork.faults.door_facts import Cases
from latchwork.faults.model import GRAVE, Effect, Fault, FaultKind

_POLE = re.compile(r"contact (N[CO])\d* (.+)")


@dataclass(frozen=True, slots=True)
class Look:
    """What some edits do to a door: their effects, each with the situation that it shows in;
    whether daily use differs."""

    effects: Mapping[Effect, str]
    daily: bool

    @property
    def waits(self) -> bool:
        """Whether nobody notices, so that it is still there when a second fault comes: that the
        door opens in an outage is not seen before. What takes people's way out by itself waits for
        no other: that is told, and put right first."""
        return not self.daily and not self.effects.keys() & {Effect.TRAPS, Effect.BLOCKS}


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


def twins(faults: Sequence[Fault], things: Things) -> list[tuple[int, int]]:
    """Faults that befall contacts which open or close together: each pole of a release by itself,
    and several relays of the fire panel, one after the other in a feed. By their places."""
    poles: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    panel: list[int] = []
    site = _moved_by_site(things)
    for n, fault in enumerate(faults):
        pole = _POLE.fullmatch(fault.state)
        if fault.kind is FaultKind.STATE and pole:
            poles[fault.subjects[0], pole[1], pole[2]].append(n)
        if fault.kind is FaultKind.STATE and fault.subjects[0] in site:
            panel.append(n)
    apart = ((a, b) for a, b in combinations(panel, 2) if faults[a].subjects != faults[b].subjects)
    return [*(pair for some in poles.values() for pair in combinations(some, 2)), *apart]


def _moved_by_site(things: Things) -> frozenset[str]:
    """The devices that something of the site moves, as its fire alarm."""
    return frozenset(
        rule.flag.rpartition(".")[0]
        for rule in things.rules
        if any(flag.startswith("site:") for e in rule.exprs for flag in expr_flags(e))
    )
