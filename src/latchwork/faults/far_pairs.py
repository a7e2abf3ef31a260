"""Pairs of faults that a door feels by way of its supply's volts alone: one of them, or both, are
in other cells of the supply.

A silent fault may use up what a door has to spare, so that a second one elsewhere stops it; or two
elsewhere pull the supply down together. Pairs that no door can feel are left out, as single faults
are: see ``sags``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from latchwork.behaviour import Case, Group
from latchwork.faults.company import Look, together
from latchwork.faults.model import Counts, Effect
from latchwork.faults.prepare import prepare_whole
from latchwork.faults.sags import Sags, matter
from latchwork.faults.tries import Tried, Tries
from latchwork.wiring import Wiring

Names = frozenset[str]
"""Of two faults."""


@dataclass(frozen=True, slots=True)
class Alone:
    """One door's single faults by name, each tried alone; pairs of its own cell that were tried;
    what the door has to spare without a fault; the doors of its cell."""

    door: str
    cell: tuple[str, ...]
    singles: Mapping[str, Tried]
    pairs: Mapping[Names, Tried]
    spare: Sags


@dataclass(frozen=True, slots=True)
class Far:
    """Two faults at a door that feels one of them by its supply alone."""

    door: str
    names: Names


@dataclass(frozen=True, slots=True)
class Together:
    """What two faults do at a door and neither does alone, and in which situation; those of the two
    that nobody notices there."""

    far: Far
    effect: Effect
    situation: str
    quiet: Names


def far_pairs(own: Alone, group: Sequence[Alone], waits: Names) -> Iterator[Far]:
    """What a door may feel of faults in other cells of its group, of which one at least ``waits``
    unnoticed for the other."""
    seen: set[Names] = set()
    for names, sag, spare in _felt(own, [its for its in group if its.cell != own.cell], waits):
        if names not in seen and matter(sag, spare):
            seen.add(names)
            yield Far(own.door, names)


def _felt(own: Alone, others: Sequence[Alone], waits: Names) -> Iterator[tuple[Names, Sags, Sags]]:
    """Pairs of faults of which not both are here, how far they pull the supply down, and what the
    door has to spare with what is here."""
    pulls: dict[tuple[str, ...], dict[str, Sags]] = {}
    for each in others:
        here = pulls.setdefault(each.cell, {})
        for name, its in each.singles.items():
            if its.sag is not None and name not in own.singles:
                here[name] = np.maximum(its.sag, here.get(name, 0.0))
    for some in pulls.values():
        for name, sag in some.items():
            for its_own, its in own.singles.items():
                if name in waits or its_own in waits:
                    yield frozenset((name, its_own)), sag, its.spare
    for some, more in combinations(pulls.values(), 2):
        for name, other in product(some, more):
            if name in waits or other in waits:
                yield frozenset((name, other)), some[name] + more[other], own.spare
    for each in others:
        for names, its in each.pairs.items():
            shared = names & own.singles.keys()
            if its.sag is not None and len(shared) < len(names) and names & waits:
                yield names, its.sag, own.singles[min(shared)].spare if shared else own.spare


def run_far(wiring: Wiring, group: Group, chosen: Sequence[Far]) -> tuple[list[Together], Counts]:
    """The ``chosen`` pairs at their doors, the whole supply solved at once."""
    wanted = {name for far in chosen for name in far.names}
    (item,) = prepare_whole(wiring, [group], Case.NOMINAL, lambda f: f.id in wanted)
    edits = {fault.id: fault.edits for fault in item.cell.faults}
    out: list[Together] = []
    counts = Counts()
    for d, door in enumerate(item.cell.doors):
        its = [far for far in chosen if far.door == door]
        if not its:
            continue
        tries = Tries(item, d)
        names = sorted({name for far in its for name in far.names})
        tried = tries.of([edits[name] for name in names])
        alone: dict[str, Look] = {n: t.look for n, t in zip(names, tried, strict=True)}
        both = tries.of([tuple(e for n in sorted(far.names) for e in edits[n]) for far in its])
        for far, found in zip(its, both, strict=True):
            one, other = (alone[name] for name in sorted(far.names))
            comes = together(one, other, found.look)
            quiet = frozenset(name for name in far.names if alone[name].waits)
            if comes is not None and quiet:
                out.append(Together(far, *comes, quiet))
        counts += tries.counts
    return out, counts
