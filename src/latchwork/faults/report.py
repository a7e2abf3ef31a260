"""The fault run whole: single faults, attacks, silent pairs, worst cases."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from latchwork.behaviour import Case, Group
from latchwork.faults.attacks import attacks
from latchwork.faults.consequences import EFFECTS
from latchwork.faults.model import (
    AttackReport,
    Consequence,
    Counts,
    Fault,
    FaultReport,
    PairReport,
    WhatIf,
)
from latchwork.faults.pairs import pairs
from latchwork.faults.prepare import Prepared, groups_of, prepare_groups, prepare_whole
from latchwork.faults.run import Came, Task, run_task, tasks
from latchwork.faults.spread import Tell, cores, spread
from latchwork.wiring import Wiring

Progress = Tell
MOST_ROWS = 200_000
"""More what-ifs are not laid out one by one."""
WORTH_DOORS = 24
"""Fewer are done before a second process has begun."""
WORST = (Case.LEAST_VOLTS, Case.MOST_VOLTS)


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked for besides single faults at nominal figures.

    ``fault``: words that a fault's name must hold; ``only``: the faults' names; ``near``: faults
    of the doors' own cells alone; ``pairs``: at most so many silent pairs; ``worst``: least and
    most volts too; ``all_rows``: every what-if as a row, where they are no more than
    ``MOST_ROWS``; ``processes``: how many at a time (None: this machine's cores).
    """

    fault: str = ""
    only: frozenset[str] | None = None
    near: bool = False
    attacks: bool = True
    pairs: int = 0
    worst: bool = False
    all_rows: bool = False
    processes: int | None = None

    def wants(self, fault: Fault) -> bool:
        """Whether a fault is asked for."""
        if self.only is not None and fault.id not in self.only:
            return False
        name = fault.id.casefold()
        return all(word in name for word in self.fault.casefold().split())


@dataclass(frozen=True, slots=True)
class _Lot:
    """Some groups of a site, and the doors that are asked for (None: all)."""

    wiring: Wiring
    groups: tuple[Group, ...]
    doors: frozenset[str] | None
    ask: Ask


@dataclass(frozen=True, slots=True)
class _LotReport:
    """What came of a lot. ``faults``: those that are told of; ``listed``: the names of all."""

    doors: tuple[str, ...]
    consequences: tuple[Consequence, ...]
    faults: Mapping[str, Fault]
    listed: frozenset[str]
    unseen: tuple[str, ...]
    counts: Counts
    attacks: AttackReport | None
    what_ifs: tuple[WhatIf, ...]


def faults(
    wiring: Wiring,
    doors: Iterable[str] | None = None,
    ask: Ask | None = None,
    progress: Progress | None = None,
) -> FaultReport:
    """Every single fault and every attack at every door, or at the named ones.

    Faults of a door's whole supply are tried: those of another door may be felt at this one.
    """
    ask = ask or Ask()
    wanted = None if doors is None else frozenset(doors)
    parts = groups_of(wiring, wanted)
    lots = [_Lot(wiring, some, wanted, ask) for some in _lots(parts, ask.processes or cores())]
    came = spread(_lot, lots, progress)
    paired, more = _paired(wiring, parts, wanted, ask)
    told = {name: fault for each in came for name, fault in each.faults.items()} | more
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    return FaultReport(
        tuple(sorted((d for each in came for d in each.doors), key=rank.__getitem__)),
        _ordered([c for each in came for c in each.consequences], rank),
        told,
        len(frozenset().union(*(each.listed for each in came))),
        tuple(sorted({name for each in came for name in each.unseen})),
        sum((each.counts for each in came), Counts()),
        _attacked([each.attacks for each in came if each.attacks], rank) if ask.attacks else None,
        paired,
        tuple(sorted((row for each in came for row in each.what_ifs), key=_row_key(rank))),
    )


def _row_key(rank: Mapping[str, int]) -> Callable[[WhatIf], tuple[int, str, str]]:
    return lambda row: (rank[row.door], row.case.value, row.fault)


def _lots(parts: Sequence[Group], most: int) -> list[tuple[Group, ...]]:
    """Groups in as many lots as are worth it, with about as many doors in each."""
    doors = sum(len(group.doors) for group in parts)
    count = max(1, min(most, len(parts))) if doors >= WORTH_DOORS else 1
    lots: list[list[Group]] = [[] for _ in range(count)]
    loads = [0] * count
    for group in sorted(parts, key=lambda g: -len(g.doors)):
        lightest = loads.index(min(loads))
        lots[lightest].append(group)
        loads[lightest] += len(group.doors)
    return [tuple(lot) for lot in lots]


def _lot(lot: _Lot, tell: Tell) -> _LotReport:
    """Everything about the doors of one lot."""
    ask, wanted = lot.ask, lot.doors
    cases = (Case.NOMINAL, *(WORST if ask.worst else ()))
    prepared = {case: _cells(lot, case) for case in cases}
    gathered = _Gathered(wanted, tell)
    todo = [t for p in prepared.values() for t in tasks(p)]
    few = sum(task.points for task in todo) <= MOST_ROWS
    ask = replace(ask, all_rows=ask.all_rows and few)
    gathered.run([replace(t, all_rows=ask.all_rows) for t in todo])
    for case, cells in prepared.items() if not ask.near else ():
        gathered.run(list(_afar(lot, cells, case, gathered, ask)))
    nominal = prepared[Case.NOMINAL]
    listed = {f.id: f for p in nominal for f in p.cell.faults}
    named = {c.fault for c in gathered.consequences}
    own = [p for p in nominal if wanted is None or wanted & set(p.cell.doors)]
    return _LotReport(
        tuple(d for p in own for d in p.cell.doors if wanted is None or d in wanted),
        tuple(gathered.consequences),
        {name: fault for name, fault in listed.items() if name in named},
        frozenset(listed),
        tuple(f.id for f in listed.values() if not f.seen_by_dc),
        gathered.counts,
        attacks(lot.wiring, own, wanted, partial(tell, "attacks")) if ask.attacks else None,
        tuple(gathered.what_ifs),
    )


def _cells(lot: _Lot, case: Case) -> list[Prepared]:
    cells = prepare_groups(lot.wiring, lot.groups, case, lot.ask.wants)
    if lot.ask.near and lot.doors is not None:
        return [p for p in cells if lot.doors & set(p.cell.doors)]
    return cells


def _paired(
    wiring: Wiring, parts: Sequence[Group], wanted: frozenset[str] | None, ask: Ask
) -> tuple[PairReport | None, dict[str, Fault]]:
    """Silent faults with a second one, and the faults that are told of."""
    if not ask.pairs:
        return None, {}
    cells = prepare_groups(wiring, parts, Case.NOMINAL, ask.wants)
    own = [p for p in cells if wanted is None or wanted & set(p.cell.doors)]
    found = pairs(wiring, own, ask.pairs, wanted)
    named = {name for pair in found.pairs for name in (pair.silent, pair.second)}
    return found, {f.id: f for p in own for f in p.cell.faults if f.id in named}


def _attacked(reports: Sequence[AttackReport], rank: Mapping[str, int]) -> AttackReport:
    """Several reports as one, by door."""
    return AttackReport(
        tuple(
            sorted((a for each in reports for a in each.opened), key=lambda a: rank[a.attack.door])
        ),
        tuple(sorted((c for each in reports for c in each.coverage), key=lambda c: rank[c.door])),
        sum((each.counts for each in reports), Counts()),
    )


@dataclass
class _Gathered:
    """What has come of a lot so far."""

    doors: frozenset[str] | None
    tell: Tell
    consequences: list[Consequence] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)
    pulled: dict[Case, set[str]] = field(default_factory=dict)
    what_ifs: list[WhatIf] = field(default_factory=list)

    def run(self, todo: Sequence[Task]) -> None:
        """Run tasks and keep what comes."""
        total = self.counts.points + sum(t.points for t in todo)
        for task in todo:
            self._take(task.cells[0].case, run_task(task))
            self.tell("faults", self.counts.points, total)

    def _take(self, case: Case, came: Came) -> None:
        self.consequences += [c for c in came.consequences if self.asks(c.door)]
        self.counts += came.counts
        self.what_ifs += [w for w in came.what_ifs if self.asks(w.door)]
        self.pulled.setdefault(case, set()).update(came.pulled)

    def asks(self, door: str) -> bool:
        """Whether a door is asked for."""
        return self.doors is None or door in self.doors


def _ordered(found: Sequence[Consequence], rank: Mapping[str, int]) -> tuple[Consequence, ...]:
    """By door, worst first; what nominal figures show is not told again of a worst case."""
    cases = list(Case)

    def key(c: Consequence) -> tuple[int, int, str, int]:
        return rank[c.door], EFFECTS.index(c.effect), c.fault, cases.index(c.case)

    best: dict[tuple[str, str], int] = {}
    out = []
    for c in sorted(found, key=lambda c: (cases.index(c.case), *key(c))):
        effect = EFFECTS.index(c.effect)
        if effect < best.get((c.door, c.fault), len(EFFECTS)):
            best[c.door, c.fault] = effect
            out.append(c)
    return tuple(sorted(out, key=key))


def _afar(
    lot: _Lot, cells: Sequence[Prepared], case: Case, gathered: _Gathered, ask: Ask
) -> Iterator[Task]:
    """Faults that pull their supply down, run again with the whole supply, for the doors of its
    other cells. A fault of the supply itself is in every cell already."""
    where: dict[str, set[str]] = {}
    group: dict[str, frozenset[str]] = {}
    pulled = gathered.pulled.get(case, set())
    for cell in cells:
        for fault in cell.cell.faults:
            if fault.id in pulled:
                where.setdefault(fault.id, set()).update(cell.cell.doors)
                group[fault.id] = frozenset(cell.group)
    far = {name for name, doors in where.items() if not group[name] <= doors}
    doors = {door for name in far for door in where[name]}
    parts = [g for g in lot.groups if doors & set(g.doors)]
    for item in prepare_whole(lot.wiring, parts, case, partial(_among, far)):
        for door in item.cell.doors:
            rest = tuple(f for f in item.cell.faults if door not in where[f.id])
            if rest and gathered.asks(door):
                its = replace(item, cell=replace(item.cell, faults=rest))
                yield from tasks([its], frozenset({door}), all_rows=ask.all_rows)


def _among(names: Container[str], fault: Fault) -> bool:
    return fault.id in names
