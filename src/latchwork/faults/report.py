"""The fault run whole: single faults, attacks, silent pairs, worst cases."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from latchwork.behaviour import Case
from latchwork.faults.attacks import attacks
from latchwork.faults.consequences import EFFECTS
from latchwork.faults.model import Consequence, Counts, Fault, FaultReport, WhatIf
from latchwork.faults.pairs import pairs
from latchwork.faults.prepare import Prepared, prepare, prepare_whole
from latchwork.faults.run import Came, Task, run_task, tasks
from latchwork.faults.spread import spread
from latchwork.wiring import Wiring

Progress = Callable[[str, int, int], None]
"""Called with what is being done ("faults", "attacks"), and how much of how much is."""
MOST_ROWS = 200_000
"""More what-ifs are not laid out one by one."""
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
    cases = (Case.NOMINAL, *(WORST if ask.worst else ()))
    prepared = {case: prepare(wiring, wanted, case, ask.wants) for case in cases}
    if ask.near and wanted is not None:
        for case, cells in prepared.items():
            prepared[case] = [p for p in cells if wanted & set(p.cell.doors)]
    nominal = prepared[Case.NOMINAL]
    gathered = _Gathered(wanted, progress)
    todo = [t for p in prepared.values() for t in tasks(p)]
    few = sum(task.points for task in todo) <= MOST_ROWS
    ask = replace(ask, all_rows=ask.all_rows and few)
    gathered.run([replace(t, all_rows=ask.all_rows) for t in todo], ask.processes)
    for case, cells in prepared.items() if not ask.near else ():
        gathered.run(list(_afar(wiring, cells, case, gathered, ask)), ask.processes)
    told = None if progress is None else partial(progress, "attacks")
    listed = {f.id: f for p in nominal for f in p.cell.faults}
    own = [p for p in nominal if wanted is None or wanted & set(p.cell.doors)]
    order = [d for d in wiring.plan.doors if any(d in p.cell.doors for p in own)]
    return FaultReport(
        tuple(d for d in order if wanted is None or d in wanted),
        gathered.sorted(list(wiring.plan.doors)),
        listed,
        tuple(f.id for f in listed.values() if not f.seen_by_dc),
        gathered.counts,
        attacks(wiring, own, wanted, ask.processes, told) if ask.attacks else None,
        pairs(wiring, own, ask.pairs, wanted) if ask.pairs else None,
        tuple(gathered.what_ifs),
    )


@dataclass
class _Gathered:
    """What has come so far."""

    doors: frozenset[str] | None
    progress: Progress | None
    consequences: list[Consequence] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)
    pulled: dict[Case, set[str]] = field(default_factory=dict)
    what_ifs: list[WhatIf] = field(default_factory=list)

    def run(self, todo: list[Task], processes: int | None) -> None:
        """Run tasks and keep what comes."""
        total = self.counts.points + sum(t.points for t in todo)
        ran = spread(run_task, todo, total, processes)
        for task, came in zip(todo, ran, strict=True):
            self._take(task.cells[0].case, came)
            if self.progress is not None:
                self.progress("faults", self.counts.points, total)

    def _take(self, case: Case, came: Came) -> None:
        self.consequences += [c for c in came.consequences if self.asks(c.door)]
        self.counts += came.counts
        self.what_ifs += [w for w in came.what_ifs if self.asks(w.door)]
        self.pulled.setdefault(case, set()).update(came.pulled)

    def asks(self, door: str) -> bool:
        """Whether a door is asked for."""
        return self.doors is None or door in self.doors

    def sorted(self, doors: list[str]) -> tuple[Consequence, ...]:
        """By door, worst first; what nominal figures show is not told again of a worst case."""
        rank = {door: n for n, door in enumerate(doors)}
        cases = list(Case)

        def key(c: Consequence) -> tuple[int, int, str, int]:
            return rank[c.door], EFFECTS.index(c.effect), c.fault, cases.index(c.case)

        best: dict[tuple[str, str], int] = {}
        out = []
        for c in sorted(self.consequences, key=lambda c: (cases.index(c.case), *key(c))):
            effect = EFFECTS.index(c.effect)
            if effect < best.get((c.door, c.fault), len(EFFECTS)):
                best[c.door, c.fault] = effect
                out.append(c)
        return tuple(sorted(out, key=key))


def _afar(
    wiring: Wiring, cells: Sequence[Prepared], case: Case, gathered: _Gathered, ask: Ask
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
    for item in prepare_whole(wiring, doors, case, partial(_among, far)) if far else ():
        for door in item.cell.doors:
            rest = tuple(f for f in item.cell.faults if door not in where[f.id])
            if rest and gathered.asks(door):
                its = replace(item, cell=replace(item.cell, faults=rest))
                yield from tasks([its], frozenset({door}), all_rows=ask.all_rows)


def _among(names: Container[str], fault: Fault) -> bool:
    return fault.id in names
