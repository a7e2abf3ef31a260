"""Silent faults in company: what nobody notices until a second fault comes.

A fault that alters nothing in daily use is paired with every single fault of its cell. It counts
where the two together do what people's lives or their property hang on, and neither did alone.
Pairs are budgeted, those of what people's lives hang on first, and counted apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from latchwork.behaviour import new_work
from latchwork.faults.company import Look, looked, together, twins
from latchwork.faults.consequences import judge
from latchwork.faults.engine import most_columns, solve_edits
from latchwork.faults.looks import Looks, SoundDoor
from latchwork.faults.model import (
    Counts,
    Edit,
    Fault,
    FaultKind,
    Pair,
    PairReport,
    Reading,
)
from latchwork.faults.prepare import Prepared
from latchwork.faults.reasons import readings
from latchwork.faults.spread import Tell
from latchwork.wiring import Wiring

LAST = ("release", "fire", "bar", "battery", "fuse", "exit")
USED = ("exit", "bar", "controller", "lock", "release", "fire", "battery", "fuse")
"""What helps when all else fails, and what all else is: words of the subjects whose silent faults
are paired first, and of those that they are paired with first."""
LIKELY = (
    FaultKind.STATE,
    FaultKind.SITE,
    FaultKind.OPEN,
    FaultKind.SHORT,
    FaultKind.TO_MINUS,
    FaultKind.TO_PLUS,
    FaultKind.TO_EARTH,
    FaultKind.JOINT,
)
"""The likelier first (common practice, no source)."""


def pairs(
    wiring: Wiring,
    cells: Sequence[Prepared],
    budget: int,
    doors: frozenset[str] | None = None,
    tell: Tell | None = None,
) -> PairReport:
    """Pair the silent faults of ``cells`` (or those at ``doors``), at most ``budget`` pairs.

    ``tell`` hears of how many of how many doors the "silent" faults are known, and are in "pairs".
    """
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    places = [
        (cell, d)
        for cell in cells
        for d, door in enumerate(cell.cell.doors)
        if cell.facts[d].bolts and (doors is None or door in doors)
    ]
    places.sort(key=lambda place: rank[place[0].cell.doors[place[1]]])
    alone = []
    for cell, d in places:
        alone.append(_Alone(cell, d))
        if tell is not None:
            tell("silent", len(alone), len(places))
    found: list[Pair] = []
    run = 0
    # What one door leaves of its share is there for those after it.
    for n, door in enumerate(alone):
        chosen = door.wanted[: max((budget - run) // (len(alone) - n), 0)]
        run += len(chosen)
        found += door.together(chosen)
        if tell is not None:
            tell("pairs", n + 1, len(alone))
    return PairReport(
        tuple(found),
        run,
        sum(len(door.wanted) for door in alone),
        sum((door.counts for door in alone), Counts()),
    )


def _rank(fault: Fault, words: Sequence[str]) -> int:
    text = " ".join((*fault.subjects, fault.state))
    return next((n for n, word in enumerate(words) if word in text), len(words))


class _Alone:
    """One door's single faults, and pairs of them."""

    def __init__(self, cell: Prepared, d: int) -> None:
        self._cell, self._d = cell, d
        self._faults = cell.cell.faults
        self.door = cell.cell.doors[d]
        self.counts = Counts()
        self._sound: SoundDoor | None = None
        self._twins = frozenset(twins(self._faults, cell.sound))
        self._singles = list(self._looked([f.edits for f in self._faults]))
        self.wanted = sorted(self._pairs(), key=self._urgency)

    def _pairs(self) -> Iterator[tuple[int, int]]:
        """Each silent fault with each other one that shares no place with it; two silent ones
        once."""
        silent = [n for n, look in enumerate(self._singles) if look.waits]
        quiet = {n: _rank(self._faults[n], LAST) for n in silent}
        places = [{(e.what, e.name) for e in f.edits} for f in self._faults]
        for a in silent:
            for b in range(len(self._faults)):
                other = quiet.get(b)
                if other is not None and (other, b) <= (quiet[a], a):
                    continue
                if not places[a] & places[b]:
                    yield a, b

    def _urgency(self, pair: tuple[int, int]) -> tuple[bool, int, int, int, int]:
        """Contacts that stand in for each other first, then the likely; of these what people's
        lives hang on."""
        silent, second = (self._faults[n] for n in pair)
        likely = LIKELY.index(silent.kind) + LIKELY.index(second.kind)
        other = pair not in self._twins and pair[::-1] not in self._twins
        return other, likely, _rank(silent, LAST) + _rank(second, USED), *pair

    def together(self, chosen: Sequence[tuple[int, int]]) -> Iterator[Pair]:
        """The pairs that do what neither did alone."""
        edits = [(*self._faults[a].edits, *self._faults[b].edits) for a, b in chosen]
        looks = list(self._looked(edits))
        found = []
        for (a, b), look in zip(chosen, looks, strict=True):
            comes = together(self._singles[a], self._singles[b], look)
            if comes is not None:
                found.append((a, b, comes))
        silent = {n for a, b, _ in found for n in (a, b) if self._singles[n].waits}
        meter = self._readings(sorted(silent))
        for a, b, comes in found:
            names = self._faults[a].id, self._faults[b].id
            both = self._singles[b].waits
            yield Pair(self.door, *names, *comes, meter[a], meter.get(b), both)

    def _readings(self, silent: Sequence[int]) -> dict[int, Reading | None]:
        """Where a meter tells some silent faults."""
        item, d = self._cell, self._d
        edits = [(), *(self._faults[n].edits for n in silent)]
        run = solve_edits([item.cell], [0] * len(edits), edits, item.cell.scripts[d], new_work())
        members = list(range(1, len(edits)))
        every = np.ones((len(silent), len(item.cases[d].situations)), dtype=bool)
        network, facts, cases = item.cell.network, item.facts[d], item.cases[d]
        found = readings(
            Looks(run), network, facts, cases, 0, members, every, item.elsewhere, item.meters[d]
        )
        return dict(zip(silent, found, strict=True))

    def _looked(self, edits: Sequence[tuple[Edit, ...]]) -> Iterator[Look]:
        """What each of ``edits`` does, against the sound door."""
        item, d = self._cell, self._d
        facts, cases, its = item.facts[d], item.cases[d], item.cell.scripts[d]
        most = max(2, most_columns() // len(its.columns))
        for at in range(0, len(edits), most):
            some = edits[at : at + most]
            first: list[tuple[Edit, ...]] = [] if self._sound else [()]
            work = new_work()
            run = solve_edits(
                [item.cell], [0] * (len(first) + len(some)), [*first, *some], its, work
            )
            looks = Looks(run)
            if self._sound is None:
                self._sound = looks.sound(facts, 0)
            rows = slice(len(first), len(first) + len(some))
            self.counts += looks.counts(facts, cases, item.powered[d], rows)
            self.counts += Counts(
                eliminations=work.eliminations,
                newton_steps=work.newton_steps,
                reductions=work.reductions,
            )
            states, seen = looks.states(facts)[:, rows], looks.seen(facts)[:, rows]
            sound = self._sound
            whose = np.zeros(len(some), dtype=np.intp)
            judged = judge(states, seen, sound.states, sound.seen, whose, facts, cases)
            yield from looked(judged, cases)
