"""Silent faults in company: what nobody notices until a second fault comes.

A fault that alters nothing in daily use is paired with every single fault of its cell. It counts
where the two together trap, block the exit or open, and the second alone did not. Pairs are
budgeted, those of what people's lives hang on first, and counted apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from latchwork.circuit import Work
from latchwork.faults.consequences import EFFECTS, Cases, Seen, States, judge
from latchwork.faults.engine import MOST_COLUMNS, solve_edits
from latchwork.faults.model import Edit, Effect, Fault
from latchwork.faults.run import Looks, Prepared, counted

GRAVE = (Effect.TRAPS, Effect.BLOCKS, Effect.LATCH, Effect.OPENS)
FIRST = ("release", "fire", "exit", "bar", "battery", "fuse")
"""Words of the subjects whose silent faults are paired first."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A silent fault and the second one that brings it to light."""

    door: str
    silent: str
    second: str
    effect: Effect
    situation: str


@dataclass(frozen=True, slots=True)
class PairReport:
    """Pairs that matter; how many were run of how many there are; points, unsolved."""

    pairs: tuple[Pair, ...]
    run: int
    of: int
    points: int
    unsolved: int


def _rank(fault: Fault) -> int:
    text = " ".join((*fault.subjects, fault.state))
    return next((n for n, word in enumerate(FIRST) if word in text), len(FIRST))


def pairs(cells: Sequence[Prepared], budget: int) -> PairReport:
    """Pair the silent faults of ``cells``, at most ``budget`` pairs in all."""
    work = Work()
    found: list[Pair] = []
    run = of = points = unsolved = 0
    share = max(1, budget // max(len(cells), 1))
    for cell in cells:
        for d, facts in enumerate(cell.facts):
            if not facts.bolts:
                continue
            alone = _Alone(cell, d, work)
            wanted = [(a, b) for a in alone.silent() for b in alone.others(a)]
            of += len(wanted)
            chosen = wanted[:share]
            run += len(chosen)
            found += alone.together(chosen)
            points += alone.points
            unsolved += alone.unsolved
    return PairReport(tuple(found), run, of, points, unsolved)


class _Alone:
    """One door's single faults, and pairs of them."""

    def __init__(self, cell: Prepared, d: int, work: Work) -> None:
        self._cell, self._d, self._work = cell, d, work
        self._facts = cell.facts[d]
        self._cases = Cases(cell.cell.situations[d])
        self.points = self.unsolved = 0
        self._effects: list[frozenset[Effect]] = []
        self._daily: list[bool] = []
        faults = cell.cell.faults
        for effects, daily, _ in self._looked([(), *(f.edits for f in faults)]):
            self._effects.append(effects)
            self._daily.append(daily)

    def silent(self) -> list[int]:
        """Faults that alter nothing in daily use, the gravest subjects first."""
        quiet = [
            n
            for n, daily in enumerate(self._daily[1:])
            if not daily and not self._effects[n + 1] & set(GRAVE)
        ]
        return sorted(quiet, key=lambda n: (_rank(self._cell.cell.faults[n]), n))

    def others(self, silent: int) -> Iterator[int]:
        """Second faults that do nothing grave alone, of other subjects."""
        faults = self._cell.cell.faults
        for n, fault in enumerate(faults):
            if n != silent and fault.subjects != faults[silent].subjects:
                yield n

    def together(self, chosen: Sequence[tuple[int, int]]) -> Iterator[Pair]:
        """The pairs that do what neither did alone."""
        faults = self._cell.cell.faults
        door = self._cell.cell.doors[self._d]
        both = [(*faults[a].edits, *faults[b].edits) for a, b in chosen]
        found = self._looked([(), *both])
        next(found)
        for (a, b), (effects, _, where) in zip(chosen, found, strict=True):
            new = effects - self._effects[b + 1] - self._effects[a + 1]
            grave = next((e for e in GRAVE if e in new), None)
            if grave is not None:
                yield Pair(door, faults[a].id, faults[b].id, grave, where)

    def _looked(
        self, edits: Sequence[tuple[Edit, ...]]
    ) -> Iterator[tuple[frozenset[Effect], bool, str]]:
        """Effects, whether daily use differs, and the worst's situation; the first is sound."""
        its = self._cell.cell.scripts[self._d]
        most = max(2, MOST_COLUMNS // len(its.columns))
        sound: tuple[States, Seen] | None = None
        for at in range(0, len(edits), most):
            some = edits[at : at + most]
            solved = solve_edits([self._cell.cell], [0] * len(some), some, its, self._work)
            counts = counted(solved)
            self.points += counts.points
            self.unsolved += counts.unsolved
            looks = Looks(solved)
            states, seen = looks.states(self._facts), looks.seen(self._facts)
            sound = sound or (states[:, :1], seen[:, :1])
            judged = judge(states, seen, *sound, self._facts, self._cases)
            for m in range(len(some)):
                effects = frozenset(e for n, e in enumerate(EFFECTS) if judged.effects[m, n])
                yield effects, bool(judged.daily[m]), judged.situation[m]
