"""Contacts that stand in for each other: one of them bad is not noticed, both are.

A release with two poles works with one of them welded, and so do two relays of the fire panel one
after the other. These few pairs are run at every door that may feel them, as what hangs on one
door's contact may be another's lock; all others are asked for (``pairs``).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour import new_work
from latchwork.behaviour.script import Script
from latchwork.faults.beyond import Doors, felt
from latchwork.faults.company import Look, looked, together, twins
from latchwork.faults.consequences import judge
from latchwork.faults.engine import most_columns, solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.model import Counts, Edit, Fault, Pair, PairReport, Reading
from latchwork.faults.prepare import Prepared, alike
from latchwork.faults.reasons import readings
from latchwork.faults.tasks import Wanted


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


@dataclass(frozen=True, slots=True)
class _Came:
    """What came of a door's pairs; ``felt``: those that others feel."""

    report: PairReport
    felt: tuple[tuple[str, str], ...]


Twins = tuple[Fault, Fault]
_Wanted = Callable[[Prepared, Twins, str], bool]
"""Whether a pair of a cell is run at one of its doors."""


def poles(
    prepared: Sequence[Prepared],
    doors: frozenset[str] | None,
    first: Wanted,
    feels: Wanted,
    heeds: Mapping[str, Doors],
) -> dict[str, PairReport]:
    """The pairs at each of ``doors`` (None: all) that has some; like doors side by side. The work
    is left out of the counts.

    A pair is run where both its faults are run, be it that one is ``first`` there and the door
    ``feels`` the other, as of two relays of the panel that are written down at two doors; and at
    other doors whose circuits meet where the pair is felt, or that ``heeds`` the doors of a part.
    """
    moved: set[tuple[str, str]] = set()

    def asked(door: str) -> bool:
        return doors is None or door in doors

    def at_first(item: Prepared, pair: Twins, door: str) -> bool:
        its = [first(item, fault, door) for fault in pair]
        both = zip(pair, its, strict=True)
        return any(its) and all(own or feels(item, fault, door) for fault, own in both)

    def is_felt(item: Prepared, pair: Twins, door: str) -> bool:
        if not asked(door) or at_first(item, pair, door):
            return False
        homes = frozenset[str]().union(*map(item.home, pair))
        return (pair[0].id, pair[1].id) in moved or bool(homes & heeds.get(door, homes))

    found: dict[str, list[PairReport]] = defaultdict(list)
    for wanted in (at_first, is_felt):
        for door, came in _ran(prepared, wanted):
            found[door].append(came.report)
            moved.update(came.felt)
    reports = {door: added_up(some) for door, some in found.items() if asked(door)}
    return {door: report for door, report in reports.items() if report is not None}


def _ran(prepared: Sequence[Prepared], wanted: _Wanted) -> Iterator[tuple[str, _Came]]:
    """The pairs that are ``wanted`` at each door."""
    for cells in alike(prepared):
        by_script: dict[Script, list[_Door]] = {}
        for c, item in enumerate(cells):
            faults, every = item.cell.faults, list(twins(item.cell.faults, item.sound))
            for d, door in enumerate(item.cell.doors):
                its = tuple((a, b) for a, b in every if wanted(item, (faults[a], faults[b]), door))
                if its and item.facts[d].bolts:
                    by_script.setdefault(item.cell.scripts[d], []).append(_Door(c, d, its))
        for script, doors in by_script.items():
            for some in _parted(doors, most_columns() // len(script.columns)):
                yield from _run(cells, some, script)


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


def _run(
    cells: Sequence[Prepared], doors: Sequence[_Door], its: Script
) -> Iterator[tuple[str, _Came]]:
    which: list[int] = []
    edits: list[tuple[Edit, ...]] = []
    for at in doors:
        faults = cells[at.cell].cell.faults
        which += [at.cell] * at.members
        edits += [(), *(faults[n].edits for n in at.singles)]
        edits += [(*faults[a].edits, *faults[b].edits) for a, b in at.pairs]
    looks = Looks(solve_edits([item.cell for item in cells], which, edits, its, new_work()))
    first = 0
    for at in doors:
        item = cells[at.cell]
        others = tuple(_felt(item, at, looks, first))
        yield item.cell.doors[at.door], _Came(_told(item, at, looks, first), others)
        first += at.members


def _felt(item: Prepared, at: _Door, looks: Looks, first: int) -> Iterator[tuple[str, str]]:
    """The pairs that others feel than the doors they are at."""
    faults, after = item.cell.faults, first + at.members - len(at.pairs)
    door = item.cell.doors[at.door]
    for n, (a, b) in enumerate(at.pairs if item.beyond else ()):
        homes, member = {item.home(faults[a]), item.home(faults[b])}, np.array([after + n])
        if item.beyond and any(
            felt(looks.solved, item.beyond, door, home, first, member).any() for home in homes
        ):
            yield faults[a].id, faults[b].id


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
            pairs.append(Pair(door, *names, *comes, meter[silent], other, len(waiting) > 1))
    ran = slice(first + 1 + len(singles), first + at.members)
    counts = looks.counts(facts, cases, item.powered[at.door], ran)
    return PairReport(tuple(pairs), len(at.pairs), len(at.pairs), counts)


def _meter(item: Prepared, at: _Door, looks: Looks, first: int) -> dict[int, Reading | None]:
    """Where a meter tells each of a door's faults."""
    facts, cases = item.facts[at.door], item.cases[at.door]
    members = list(range(first + 1, first + 1 + len(at.singles)))
    anywhere = np.ones((len(members), len(cases.situations)), dtype=bool)
    network, its = item.cell.network, item.meters[at.door]
    found = readings(looks, network, facts, cases, first, members, anywhere, item.elsewhere, its)
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
