"""Some sections of a site run together, and what came of each: the work that can be done
anywhere."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from msgspec.structs import replace as put

from latchwork.behaviour import Case, Group
from latchwork.faults.ask import Ask
from latchwork.faults.attacks import attacks
from latchwork.faults.beyond import Doors
from latchwork.faults.consequences import EFFECTS
from latchwork.faults.drained import drained
from latchwork.faults.model import (
    AttackReport,
    Consequence,
    Counts,
    Effect,
    Fault,
    FaultKind,
    PairReport,
    WhatIf,
)
from latchwork.faults.poles import added_up, poles
from latchwork.faults.prepare import Prepared, groups_of, prepare_groups, prepare_whole
from latchwork.faults.run import Came, run_task
from latchwork.faults.sags import NOTHING, Sags, matter
from latchwork.faults.sections import Section, wiring_of
from latchwork.faults.slow import told_once, until_then
from latchwork.faults.spread import Tell, side_by_side, threads
from latchwork.faults.tasks import Task, Wanted, tasks
from latchwork.wiring import Wiring

MOST_ROWS = 200_000
"""More what-ifs are not laid out one by one."""
WORST = (Case.LEAST_VOLTS, Case.MOST_VOLTS)
CASES = tuple(Case)


@dataclass(frozen=True, slots=True)
class Lot:
    """Some sections of a site, and the doors that are asked for (None: all). ``alone``: no other
    lot is run beside it."""

    sections: tuple[Section, ...]
    doors: frozenset[str] | None
    ask: Ask
    alone: bool = False

    def wants(self, door: str) -> bool:
        """Whether a door is asked for."""
        return self.doors is None or door in self.doors

    def first(self, item: Prepared, fault: Fault, door: str) -> bool:
        """Whether a fault is run at a door before anybody knows where it is felt: at the doors it
        is at, those too that are not asked for but have to do with one that is."""
        if self.ask.here and any(map(self.wants, item.cell.doors)):
            return self.wants(door)
        if not item.neighbours and not self.wants(door):
            home = item.home(fault)
            return door in home and any(map(self.wants, set(item.cell.doors) - home))
        return item.beyond is None or door in item.home(fault)

    def threads(self) -> int:
        """How many tasks are worth solving side by side."""
        return threads(self.alone, self.ask.processes)


@dataclass(frozen=True, slots=True)
class SectionReport:
    """What came of a section.

    ``consequences`` and ``what_ifs`` by door, in their order; ``faults``: those that are told of;
    ``listed``: how many there are, ``of_site`` those besides that other sections have too;
    ``counts``: the work left out; ``asked``: what-ifs that rows were asked for.
    """

    doors: tuple[str, ...]
    consequences: Mapping[str, tuple[Consequence, ...]]
    faults: Mapping[str, Fault]
    listed: int
    of_site: frozenset[str]
    unseen: tuple[str, ...]
    counts: Counts
    attacks: AttackReport | None
    asked: int
    what_ifs: Mapping[str, tuple[WhatIf, ...]]
    drained: tuple[str, ...] = ()
    """Supplies whose battery runs flat on mains."""
    poles: PairReport | None = None
    """Pairs of contacts that stand in for each other; None: not asked for, or there are none."""


@dataclass(frozen=True, slots=True)
class LotReport:
    """What came of a lot, section by section, and the work it took."""

    sections: tuple[SectionReport, ...]
    work: Counts


def run_lot(lot: Lot, tell: Tell) -> LotReport:
    """Every single fault and every attack at the doors of one lot."""
    ask = lot.ask
    wiring = wiring_of(lot.sections)
    parts = groups_of(wiring, lot.doors)
    cases = (Case.NOMINAL, *(WORST if ask.worst else ()))
    prepared = {case: _cells(lot, wiring, parts, case) for case in cases}
    gathered = _Gathered(lot, tell)
    asked: dict[str, int] = {}
    for which in (_near, _felt):
        todo = [t for case, cells in prepared.items() for t in which(lot, cells, case, gathered)]
        _count(todo, asked)
        all_rows = ask.all_rows and sum(asked.values()) <= MOST_ROWS
        gathered.run(todo, all_rows=all_rows, spreads=not ask.here)
    for case, cells in prepared.items():
        gathered.look(case, list(_beside(lot, cells, case, gathered)))
    for case, cells in prepared.items() if not ask.near else ():
        shows = gathered.noticed.get(case, set())
        for todo in _afar(lot, wiring, parts, cells, case, gathered):
            gathered.run(todo, all_rows=all_rows, spreads=False, shows=shows)
    paired: dict[str, PairReport] = {}
    if ask.poles and not ask.pairs:
        feels, heeds = gathered.felt(Case.NOMINAL), gathered.heeds.get(Case.NOMINAL, {})
        paired = poles(prepared[Case.NOMINAL], lot.doors, lot.first, feels, heeds)
    here: dict[str, list[Prepared]] = {door: [] for door in wiring.plan.doors}
    for item in prepared[Case.NOMINAL]:
        for door in item.cell.doors:
            here[door].append(item)
    total = sum(map(bool, here.values()))
    out, done = [], 0
    for section in lot.sections:
        cells = list({id(p): p for door in section.door_ids for p in here[door]}.values())
        doors = tuple(d for d in section.door_ids if here[d] and lot.wants(d))
        tried = None
        if ask.attacks:
            far = partial(_further, tell, done, total)
            tried = attacks(wiring_of([section]), parts, cells, lot.doors, far)
        done += sum(bool(here[door]) for door in section.door_ids)
        those = added_up([paired[door] for door in doors if door in paired])
        its = gathered.section(section.door_ids, doors, cells, tried, asked, those)
        out.append(its if ask.near else replace(its, drained=drained(wiring.plan, cells)))
    return LotReport(tuple(out), gathered.work)


def _further(tell: Tell, before: int, total: int, done: int, _: int) -> None:
    """Tell at how many of all the lot's doors attacks are tried."""
    tell("attacks", before + done, total)


def _count(todo: Sequence[Task], asked: dict[str, int]) -> None:
    """Count how many what-ifs are asked for at each door."""
    for task in todo:
        for share in task.shares:
            points = (len(share.faults) + share.first) * len(task.script.columns)
            asked[task.door(share)] = asked.get(task.door(share), 0) + points


def _cells(lot: Lot, wiring: Wiring, parts: Sequence[Group], case: Case) -> list[Prepared]:
    doors = lot.doors if lot.ask.near else None
    return prepare_groups(wiring, parts, case, lot.ask.wants, doors)


def _near(lot: Lot, cells: Sequence[Prepared], _: Case, __: _Gathered) -> Iterator[Task]:
    """What is run first: faults at their own doors, those of doors too that are not asked for but
    may be felt at one that is."""
    return tasks(cells, wanted=lot.first)


def _felt(lot: Lot, cells: Sequence[Prepared], case: Case, gathered: _Gathered) -> Iterator[Task]:
    """Faults of a door that others whose circuits meet with it feel, at those."""
    if lot.ask.here:
        return iter(())
    meeting = [item for item in cells if item.beyond]
    return tasks(meeting, lot.doors, wanted=gathered.felt(case))


@dataclass
class _Gathered:
    """What has come of a lot so far."""

    lot: Lot
    tell: Tell
    points: int = 0
    work: Counts = field(default_factory=Counts)
    sags: dict[Case, list[tuple[tuple[str, ...], Sags]]] = field(default_factory=dict)
    """By how much faults pull their supply down, some at a time: faults x stages."""
    spare: dict[Case, dict[str, Sags]] = field(default_factory=dict)
    """By how much it may sag before a door does otherwise."""
    noticed: dict[Case, set[str]] = field(default_factory=dict)
    """Those of them that show in daily use where they are."""
    counts: dict[str, Counts] = field(default_factory=dict)
    consequences: dict[str, list[Consequence]] = field(default_factory=dict)
    daily: dict[Case, set[str]] = field(default_factory=dict)
    """What shows in daily use at one of the doors whose circuits meet."""
    moved: dict[Case, set[str]] = field(default_factory=dict)
    """Faults that alter what others have in common with the doors they are at."""
    heeds: dict[Case, dict[str, Doors]] = field(default_factory=dict)
    """By door the others whose faults bear on what happens there, felt where they are or not."""
    what_ifs: dict[str, list[WhatIf]] = field(default_factory=dict)

    def run(
        self,
        todo: Sequence[Task],
        *,
        all_rows: bool,
        spreads: bool,
        shows: Container[str] = frozenset(),
    ) -> None:
        """Run tasks and keep what comes; nothing is told as silent of faults that somebody notices
        where they are (``shows``)."""
        ask = self.lot.ask
        like = partial(replace, reasons=ask.reasons, spreads=spreads, sags=not ask.near)
        todo = [like(t, all_rows=all_rows) for t in todo]
        total = self.points + sum(t.points for t in todo)
        came = side_by_side(run_task, todo, self.lot.threads())
        for task, its in zip(todo, came, strict=True):
            self._take(task.cells[0].case, until_then(its, task), shows)
            self.tell("faults", self.points, total)

    def look(self, case: Case, todo: Sequence[Task]) -> None:
        """Run tasks for what shows in daily use alone; then tell nothing of that as silent."""
        todo = [replace(t, reasons=False, spreads=False, sags=False) for t in todo]
        every = side_by_side(run_task, todo, self.lot.threads())
        for task, came in zip(todo, every, strict=True):
            self.daily.setdefault(case, set()).update(until_then(came, task).daily)
        shows = self.daily.get(case, set())
        for found in self.consequences.values() if shows else ():
            found[:] = [c for each in found for c in _not_silent(each, case, shows)]

    def felt(self, case: Case) -> Wanted:
        """Whether a fault is felt at a door that it is not at."""
        moved, heeds = self.moved.get(case, set()), self.heeds.get(case, {})

        def is_felt(item: Prepared, fault: Fault, door: str) -> bool:
            home = item.home(fault)
            return door not in home and (fault.id in moved or bool(home & heeds.get(door, home)))

        return is_felt

    def silent(self, case: Case) -> frozenset[str]:
        """The faults that nobody notices at the door they are told of."""
        every = (c for found in self.consequences.values() for c in found if c.case is case)
        return frozenset(c.fault for c in every if Effect.SILENT in (c.effect, *c.also))

    def _take(self, case: Case, came: Came, shows: Container[str]) -> None:
        self.points += came.counts.points
        self.work += Counts(
            eliminations=came.counts.eliminations,
            newton_steps=came.counts.newton_steps,
            reductions=came.counts.reductions,
        )
        self.sags.setdefault(case, []).extend(came.sags)
        self.spare.setdefault(case, {}).update(came.spare)
        self.daily.setdefault(case, set()).update(came.daily)
        self.moved.setdefault(case, set()).update(came.felt)
        self.heeds.setdefault(case, {}).update(came.heeds)
        for door, counts in came.by_share:
            self.counts[door] = self.counts.get(door, Counts()) + counts
        for found in came.consequences:
            kept = _not_silent(found, case, shows)
            self.consequences.setdefault(found.door, []).extend(kept)
        self.noticed.setdefault(case, set()).update(came.noticed)
        for row in came.what_ifs:
            self.what_ifs.setdefault(row.door, []).append(row)

    def section(
        self,
        every: Sequence[str],
        doors: tuple[str, ...],
        cells: Sequence[Prepared],
        tried: AttackReport | None,
        asked: Mapping[str, int],
        paired: PairReport | None,
    ) -> SectionReport:
        """What came of a section. ``every`` door of it was run, ``doors`` are told of; ``cells``
        are those at nominal figures."""
        listed = {f.id: f for p in cells for f in p.cell.faults}
        site = frozenset(f.id for f in listed.values() if f.kind is FaultKind.SITE)
        found = {
            door: _ordered(told_once(self.consequences.get(door, ()), listed)) for door in doors
        }
        named = {c.fault for some in found.values() for c in some}
        named |= {name for p in (paired.pairs if paired else ()) for name in (p.silent, p.second)}
        return SectionReport(
            doors,
            found,
            {name: fault for name, fault in listed.items() if name in named},
            len(listed) - len(site),
            site,
            tuple(f.id for f in listed.values() if not f.seen_by_dc and f.id not in named),
            sum((self.counts[door] for door in every if door in self.counts), Counts()),
            tried,
            sum(asked.get(door, 0) for door in every),
            {door: tuple(sorted(self.what_ifs.get(door, ()), key=_row_key)) for door in doors},
            poles=paired,
        )


def _not_silent(found: Consequence, case: Case, shows: Container[str]) -> Iterator[Consequence]:
    """A consequence as it stands where somebody notices the fault at another door."""
    if found.case is not case or found.fault not in shows:
        yield found
    elif Effect.SILENT in found.also:
        also = tuple(Effect.SHOWS if e is Effect.SILENT else e for e in found.also)
        yield put(found, also=also, shows_in=(), reading=None)
    elif found.effect is not Effect.SILENT:
        yield found


def _beside(lot: Lot, cells: Sequence[Prepared], case: Case, gathered: _Gathered) -> Iterator[Task]:
    """The silent faults of the doors that are asked for, at the others that feel them."""
    if lot.doors is None or lot.ask.here:
        return
    silent, is_felt = gathered.silent(case), gathered.felt(case)

    def wanted(item: Prepared, fault: Fault, door: str) -> bool:
        left = door in item.home(fault) and not lot.first(item, fault, door)
        return fault.id in silent and (left or is_felt(item, fault, door))

    for item in cells:
        others = frozenset(item.cell.doors) - lot.doors
        if item.beyond and others and len(others) < len(item.cell.doors):
            yield from tasks([item], others, wanted=wanted)


def _row_key(row: WhatIf) -> tuple[str, str]:
    return row.case.value, row.fault


def _ordered(found: Iterable[Consequence]) -> tuple[Consequence, ...]:
    """One door's, worst first; what nominal figures show is not told again of a worst case."""

    def key(c: Consequence) -> tuple[int, str, int]:
        return EFFECTS.index(c.effect), c.fault, CASES.index(c.case)

    best: dict[str, int] = {}
    out = []
    for c in sorted(found, key=lambda c: (CASES.index(c.case), *key(c))):
        effect = EFFECTS.index(c.effect)
        if effect < best.get(c.fault, len(EFFECTS)):
            best[c.fault] = effect
            out.append(c)
    return tuple(sorted(out, key=key))


def _afar(
    lot: Lot,
    wiring: Wiring,
    parts: Sequence[Group],
    cells: Sequence[Prepared],
    case: Case,
    gathered: _Gathered,
) -> Iterator[list[Task]]:
    """Faults that pull their supply down, run again with the whole supply, at the doors of its
    other cells that may feel it; supply by supply. A fault of the supply itself is in every cell
    already."""
    spare = gathered.spare.get(case, {})
    pulled: dict[str, Sags] = {}
    for names, rows in gathered.sags.get(case, []):
        for name, sag in zip(names, rows, strict=True):
            pulled[name] = np.maximum(sag, pulled.get(name, 0.0))
    where: dict[str, set[str]] = defaultdict(set)
    for cell in cells:
        for fault in cell.cell.faults:
            if fault.id in pulled:
                where[fault.id].update(cell.cell.doors)
    feel: dict[str, set[str]] = defaultdict(set)
    for cell in cells:
        its = [fault.id for fault in cell.cell.faults if fault.id in pulled]
        if not its:
            continue
        every = np.stack([pulled[name] for name in its])
        for door in filter(lot.wants, set(cell.group).difference(cell.cell.doors)):
            # Nobody knows what a door has to spare of which no fault was asked.
            felt = matter(every, spare.get(door, NOTHING)).tolist()
            feel[door].update(
                n for n, f in zip(its, felt, strict=True) if f and door not in where[n]
            )
    far = {name for some in feel.values() for name in some}
    doors = {door for door, some in feel.items() if some}
    near = [g for g in parts if doors & set(g.doors)]
    for item in prepare_whole(wiring, near, case, partial(_among, far)):
        todo: list[Task] = []
        for door in item.cell.doors:
            rest = tuple(f for f in item.cell.faults if f.id in feel.get(door, ()))
            asked = replace(item, cell=replace(item.cell, faults=rest))
            todo += tasks([asked], frozenset({door})) if rest else ()
        yield todo


def _among(names: Container[str], fault: Fault) -> bool:
    return fault.id in names
