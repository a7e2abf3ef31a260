"""Contacts of one part that stand in for each other: one of them bad is not noticed, both are.

A release with two poles works with one of them welded. These few pairs are run at every door of
their cell, as what hangs on one door's contact may be another's lock; all others are asked for
(``pairs``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour import new_work
from latchwork.behaviour.script import Script
from latchwork.faults.company import Look, looked, together, twins
from latchwork.faults.consequences import judge
from latchwork.faults.engine import most_columns, solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.model import Counts, Edit, Pair, PairReport, Reading
from latchwork.faults.prepare import Prepared, alike
from latchwork.faults.reasons import readings


@dataclass(frozen=True, slots=True)
class _Door:
    """A door's pairs. Its members: the sound door, each fault alone, each pair."""

    cell: int
    door: int
    pairs: tuple[tuple[int, int], ...]

    @property
    def singles(self) -> list[int]:
        """The faults that are paired."""
        return sorted({n for pair in self.pairs for n in pair})

    @property
    def members(self) -> int:
        """How many there are."""
        return 1 + len(self.singles) + len(self.pairs)


def poles(prepared: Iterable[Prepared], doors: frozenset[str] | None) -> dict[str, PairReport]:
    """The pairs at each of ``doors`` (None: all) that has some; like doors side by side. The work
    is left out of the counts."""
    found: dict[str, PairReport] = {}
    for cells in alike(list(prepared)):
        by_script: dict[Script, list[_Door]] = {}
        for c, item in enumerate(cells):
            pairs = tuple(twins(item.cell.faults))
            for d, door in enumerate(item.cell.doors):
                if pairs and item.facts[d].bolts and (doors is None or door in doors):
                    by_script.setdefault(item.cell.scripts[d], []).append(_Door(c, d, pairs))
        for script, its in by_script.items():
            for some in _parted(its, most_columns() // len(script.columns)):
                found |= _run(cells, some, script)
    return found


def _parted(doors: Sequence[_Door], most: int) -> Iterable[list[_Door]]:
    """Doors with at most ``most`` members together."""
    some: list[_Door] = []
    room = most
    for door in doors:
        if some and door.members > room:
            yield some
            some, room = [], most
        some.append(door)
        room -= door.members
    yield some


def _run(cells: Sequence[Prepared], doors: Sequence[_Door], its: Script) -> dict[str, PairReport]:
    which: list[int] = []
    edits: list[tuple[Edit, ...]] = []
    for at in doors:
        faults = cells[at.cell].cell.faults
        which += [at.cell] * at.members
        edits += [(), *(faults[n].edits for n in at.singles)]
        edits += [(*faults[a].edits, *faults[b].edits) for a, b in at.pairs]
    looks = Looks(solve_edits([item.cell for item in cells], which, edits, its, new_work()))
    found, first = {}, 0
    for at in doors:
        found[cells[at.cell].cell.doors[at.door]] = _told(cells[at.cell], at, looks, first)
        first += at.members
    return found


def _told(item: Prepared, at: _Door, looks: Looks, first: int) -> PairReport:
    """A door's pairs that matter; its members begin with the ``first``."""
    facts, cases, door = item.facts[at.door], item.cases[at.door], item.cell.doors[at.door]
    states, seen = looks.states(facts), looks.seen(facts)
    rows, sound = slice(first + 1, first + at.members), slice(first, first + 1)
    whose = np.zeros(at.members - 1, dtype=np.intp)
    judged = judge(
        states[:, rows], seen[:, rows], states[:, sound], seen[:, sound], whose, facts, cases
    )
    every = list(looked(judged, cases))
    singles: dict[int, Look] = dict(zip(at.singles, every, strict=False))
    meter = _meter(item, at, looks, first)
    faults, pairs = item.cell.faults, []
    for (a, b), both in zip(at.pairs, every[len(singles) :], strict=True):
        comes = together(singles[a], singles[b], both)
        waiting = [n for n in (a, b) if singles[n].waits]
        if comes and waiting:
            silent, second = waiting[0], b if waiting[0] == a else a
            other = meter[second] if len(waiting) > 1 else None
            names = faults[silent].id, faults[second].id
            pairs.append(Pair(door, *names, *comes, meter[silent], other))
    ran = slice(first + 1 + len(singles), first + at.members)
    counts = looks.counts(facts, cases, item.powered[at.door], ran)
    return PairReport(tuple(pairs), len(at.pairs), len(at.pairs), counts)


def _meter(item: Prepared, at: _Door, looks: Looks, first: int) -> dict[int, Reading | None]:
    """Where a meter tells each of a door's faults."""
    facts, cases = item.facts[at.door], item.cases[at.door]
    members = list(range(first + 1, first + 1 + len(at.singles)))
    anywhere = np.ones((len(members), len(cases.situations)), dtype=bool)
    network, plus = item.cell.network, item.screw
    found = readings(looks, network, facts, cases, first, members, anywhere, item.elsewhere, plus)
    return dict(zip(at.singles, found, strict=True))


def added_up(reports: Sequence[PairReport]) -> PairReport | None:
    """Several reports as one; None where nothing was run."""
    if not any(report.run for report in reports):
        return None
    return PairReport(
        tuple(pair for report in reports for pair in report.pairs),
        sum(report.run for report in reports),
        sum(report.of for report in reports),
        sum((report.counts for report in reports), Counts()),
    )
