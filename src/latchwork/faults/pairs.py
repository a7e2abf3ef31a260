"""Silent faults in company: what nobody notices until a second fault comes.

A fault that alters nothing in daily use is paired with every single fault of its cell. It counts
where the two together trap, block the exit or open, and the second alone did not. Pairs are
budgeted, those of what people's lives hang on first, and counted apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from latchwork.circuit import Work
from latchwork.faults.consequences import EFFECTS, judge
from latchwork.faults.engine import MOST_COLUMNS, solve_edits
from latchwork.faults.looks import Looks, SoundDoor
from latchwork.faults.model import GRAVE, Counts, Edit, Effect, Fault, Pair, PairReport
from latchwork.faults.prepare import Prepared
from latchwork.wiring import Wiring

FIRST = ("release", "fire", "exit", "bar", "battery", "fuse")
"""Words of the subjects whose silent faults are paired first."""


def pairs(
    wiring: Wiring, cells: Sequence[Prepared], budget: int, doors: frozenset[str] | None = None
) -> PairReport:
    """Pair the silent faults of ``cells`` (or those at ``doors``), at most ``budget`` pairs."""
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    alone = [
        _Alone(cell, d)
        for cell in cells
        for d, door in enumerate(cell.cell.doors)
        if cell.facts[d].bolts and (doors is None or door in doors)
    ]
    alone.sort(key=lambda each: rank[each.door])
    found: list[Pair] = []
    run = 0
    # What one door leaves of its share is there for those after it.
    for n, door in enumerate(alone):
        chosen = door.wanted[: max((budget - run) // (len(alone) - n), 0)]
        run += len(chosen)
        found += door.together(chosen)
    return PairReport(
        tuple(found),
        run,
        sum(len(door.wanted) for door in alone),
        sum((door.counts for door in alone), Counts()),
    )


def _rank(fault: Fault) -> int:
    text = " ".join((*fault.subjects, fault.state))
    return next((n for n, word in enumerate(FIRST) if word in text), len(FIRST))


@dataclass(frozen=True, slots=True)
class _Look:
    """What some edits do to the door: their effects, whether daily use differs, where."""

    effects: frozenset[Effect]
    daily: bool
    situation: str


class _Alone:
    """One door's single faults, and pairs of them."""

    def __init__(self, cell: Prepared, d: int) -> None:
        self._cell, self._d = cell, d
        self._faults = cell.cell.faults
        self.door = cell.cell.doors[d]
        self.counts = Counts()
        self._sound: SoundDoor | None = None
        self._singles = list(self._looked([f.edits for f in self._faults]))
        self.wanted = [(a, b) for a in self._silent() for b in self._others(a)]

    def _silent(self) -> list[int]:
        """Faults that alter nothing in daily use and are not grave, the gravest subjects first."""
        quiet = [
            n
            for n, look in enumerate(self._singles)
            if not look.daily and not look.effects & set(GRAVE)
        ]
        return sorted(quiet, key=lambda n: (_rank(self._faults[n]), n))

    def _others(self, silent: int) -> Iterator[int]:
        """Second faults, of other subjects."""
        for n, fault in enumerate(self._faults):
            if n != silent and fault.subjects != self._faults[silent].subjects:
                yield n

    def together(self, chosen: Sequence[tuple[int, int]]) -> Iterator[Pair]:
        """The pairs that do what neither did alone."""
        edits = [(*self._faults[a].edits, *self._faults[b].edits) for a, b in chosen]
        for (a, b), look in zip(chosen, self._looked(edits), strict=True):
            new = look.effects - self._singles[a].effects - self._singles[b].effects
            grave = next((e for e in GRAVE if e in new), None)
            if grave is not None:
                names = self._faults[a].id, self._faults[b].id
                yield Pair(self.door, *names, grave, look.situation)

    def _looked(self, edits: Sequence[tuple[Edit, ...]]) -> Iterator[_Look]:
        """What each of ``edits`` does, against the sound door."""
        item, d = self._cell, self._d
        facts, cases, its = item.facts[d], item.cases[d], item.cell.scripts[d]
        most = max(2, MOST_COLUMNS // len(its.columns))
        for at in range(0, len(edits), most):
            some = edits[at : at + most]
            first: list[tuple[Edit, ...]] = [] if self._sound else [()]
            work = Work()
            run = solve_edits(
                [item.cell], [0] * (len(first) + len(some)), [*first, *some], its, work
            )
            looks = Looks(run)
            if self._sound is None:
                self._sound = looks.sound(facts, 0, item.hub)
            rows = slice(len(first), len(first) + len(some))
            self.counts += looks.counts(facts, cases, item.powered[d], rows)
            self.counts += Counts(
                eliminations=work.eliminations,
                newton_steps=work.newton_steps,
                reductions=work.reductions,
            )
            states, seen = looks.states(facts)[:, rows], looks.seen(facts)[:, rows]
            judged = judge(states, seen, self._sound.states, self._sound.seen, facts, cases)
            for m in range(len(some)):
                effects = frozenset(e for n, e in enumerate(EFFECTS) if judged.effects[m, n])
                where = cases.situations[judged.column[m]].key
                yield _Look(effects, bool(judged.daily[m]), where)
