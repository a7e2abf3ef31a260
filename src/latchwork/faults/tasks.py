"""Every single fault of every door, in tasks that can be run anywhere and in any order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from latchwork.behaviour.script import Script
from latchwork.circuit import Work
from latchwork.faults.engine import joins_apart, most_columns, solve_edits
from latchwork.faults.looks import Run
from latchwork.faults.model import Edit, Fault
from latchwork.faults.prepare import Prepared, alike

Wanted = Callable[[Prepared, Fault, str], bool]
"""Whether a fault of a cell is run at one of its doors."""


@dataclass(frozen=True, slots=True)
class Share:
    """Some faults of one door: the cell's place among those of the task, the door's in the cell,
    the faults' in the cell. ``first``: the sound door is counted here."""

    cell: int
    door: int
    faults: tuple[int, ...]
    first: bool


@dataclass(frozen=True, slots=True)
class Task:
    """Shares of doors of one shape and one script, solved side by side.

    What is told of it besides effects: ``all_rows``, every what-if; ``reasons``, how each effect
    comes about and where a meter tells; ``spreads``, which faults other doors of the cell feel;
    ``sags``, what other cells of the supply may feel.
    """

    cells: tuple[Prepared, ...]
    shares: tuple[Share, ...]
    script: Script
    all_rows: bool = False
    reasons: bool = True
    spreads: bool = True
    sags: bool = True

    @property
    def points(self) -> int:
        """How many points it has."""
        members = sum(len(s.faults) + s.first for s in self.shares)
        return members * len(self.script.columns)

    def solve(self, work: Work) -> Run:
        """All of it: of each share its sound door, then its faults."""
        cells = [prepared.cell for prepared in self.cells]
        which: list[int] = []
        edits: list[tuple[Edit, ...]] = []
        for share in self.shares:
            which += [share.cell] * (len(share.faults) + 1)
            edits += [(), *(cells[share.cell].faults[n].edits for n in share.faults)]
        return solve_edits(cells, which, edits, self.script, work)

    def door(self, share: Share) -> str:
        """The door that a share is about."""
        return self.cells[share.cell].cell.doors[share.door]


def tasks(
    prepared: Sequence[Prepared],
    doors: frozenset[str] | None = None,
    *,
    wanted: Wanted | None = None,
) -> Iterator[Task]:
    """All faults of ``prepared`` on its doors (or on ``doors``), as tasks; or those that are
    ``wanted`` at a door."""
    for cells in alike(prepared):
        by_script: dict[Script, list[tuple[int, int]]] = {}
        for c, item in enumerate(cells):
            for d, (door, facts) in enumerate(zip(item.cell.doors, item.facts, strict=True)):
                if facts.bolts and (doors is None or door in doors):
                    by_script.setdefault(item.cell.scripts[d], []).append((c, d))
        for its, places in by_script.items():
            most = max(2, most_columns() // max(len(its.columns), len(its.then)))
            for shares in _shared(cells, places, most, wanted):
                used = sorted({s.cell for s in shares})
                moved = tuple(replace(s, cell=used.index(s.cell)) for s in shares)
                yield Task(tuple(cells[c] for c in used), moved, its)


def _shared(
    cells: Sequence[Prepared],
    places: Sequence[tuple[int, int]],
    most: int,
    wanted: Wanted | None,
) -> Iterator[list[Share]]:
    """Shares of at most ``most`` members together; each begins with its sound door."""
    listed = {(c, d): _listed(cells[c], d, wanted) for c, d in places}
    kinds: tuple[bool | None, ...] = (None,)
    joining: dict[int, list[bool]] = {}
    if joins_apart(sum(map(len, listed.values())), most):
        kinds = (False, True)
        joining = {c: cells[c].cell.joining for c, _ in places}
    for joins in kinds:
        some: list[Share] = []
        room = most
        for c, d in places:
            its = [n for n in listed[c, d] if joins is None or joining[c][n] is joins]
            first = not joins or len(its) == len(listed[c, d])
            at = 0
            while at < len(its):
                if room < 2:
                    yield some
                    some, room = [], most
                end = min(len(its), at + room - 1)
                some.append(Share(c, d, tuple(its[at:end]), first and at == 0))
                room -= end - at + 1
                at = end
        if some:
            yield some


def _listed(item: Prepared, d: int, wanted: Wanted | None) -> Sequence[int]:
    """The faults of a cell that are run at one of its doors."""
    faults, door = item.cell.faults, item.cell.doors[d]
    return [n for n, fault in enumerate(faults) if wanted is None or wanted(item, fault, door)]
