"""Silent faults in company: what nobody notices until a second fault comes.

A fault that alters nothing in daily use is paired with every single fault of its supply group: with
those of its own cell, and with those elsewhere that one of the doors may feel by way of the supply
(``far_pairs``). It counts where the two together do what people's lives or their property hang on,
and neither did alone. Pairs are budgeted, those of what people's lives hang on first, and counted
apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np

from latchwork.behaviour import Group, new_work
from latchwork.faults.company import together, twins
from latchwork.faults.engine import solve_edits
from latchwork.faults.far_pairs import Alone, Far, far_pairs, run_far
from latchwork.faults.looks import Looks
from latchwork.faults.model import Counts, Fault, FaultKind, Pair, PairReport, Reading
from latchwork.faults.prepare import Prepared
from latchwork.faults.reasons import readings
from latchwork.faults.spread import Tell
from latchwork.faults.tries import Tried, Tries
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
    groups: Sequence[Group],
    cells: Sequence[Prepared],
    budget: int,
    doors: frozenset[str] | None = None,
    tell: Tell | None = None,
) -> PairReport:
    """Pair the silent faults of ``cells``, the cells of ``groups``, at their doors (or at
    ``doors``), at most ``budget`` pairs.

    ``tell`` hears of how many of how many doors the "silent" faults are known, and are in "pairs".
    """
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    places = [
        (cell, d) for cell in cells for d in range(len(cell.cell.doors)) if cell.facts[d].bolts
    ]
    places.sort(key=lambda place: rank[place[0].cell.doors[place[1]]])
    every: list[_Near] = []
    daily: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for cell, d in places:
        every.append(_Near(cell, d))
        daily[cell.group] |= every[-1].daily
        if tell is not None:
            tell("silent", len(every), len(places))
    asked = [door for door in every if doors is None or door.name in doors]
    for door in every:
        door.choose(daily[door.cell.group])
    of_several = {door.cell.group for door in asked if door.cell.neighbours}
    shared = [group for group in groups if group.doors in of_several]
    found: list[Pair] = []
    run, of, left, counts = 0, 0, len(asked) + len(shared), Counts()
    # What one door leaves of its share is there for those after it.
    for door in asked:
        chosen = door.wanted[: max((budget - run) // left, 0)]
        run, of, left = run + len(chosen), of + len(door.wanted), left - 1
        found += door.together(chosen)
        if tell is not None:
            tell("pairs", len(asked) - left + len(shared), len(asked) + len(shared))
    for group in shared:
        its = _Supply(wiring, group, [d for d in every if d.cell.group == group.doors], asked)
        far = its.wanted[: max((budget - run) // left, 0)]
        run, of, left = run + len(far), of + len(its.wanted), left - 1
        more, work = its.together(far)
        found, counts = [*found, *more], counts + work
        if tell is not None:
            tell("pairs", len(asked) + len(shared) - left, len(asked) + len(shared))
    counts = sum((door.counts for door in every), counts)
    return PairReport(tuple(sorted(found, key=lambda pair: rank[pair.door])), run, of, counts)


def _rank(fault: Fault, words: Sequence[str]) -> int:
    text = " ".join((*fault.subjects, fault.state))
    return next((n for n, word in enumerate(words) if word in text), len(words))


def _urgency(silent: Fault, second: Fault) -> tuple[int, int]:
    """The likely first; of these what people's lives hang on."""
    likely = LIKELY.index(silent.kind) + LIKELY.index(second.kind)
    return likely, _rank(silent, LAST) + _rank(second, USED)


class _Near:
    """One door's single faults, and pairs of them."""

    def __init__(self, cell: Prepared, d: int) -> None:
        self.cell, self._d = cell, d
        self.faults = cell.cell.faults
        self.name = cell.cell.doors[d]
        self._tries = Tries(cell, d)
        self._twins = frozenset(twins(self.faults, cell.sound))
        self._singles = list(self._tries.of([f.edits for f in self.faults]))
        self._pairs: dict[frozenset[str], Tried] = {}
        self.waits: frozenset[str] = frozenset()
        self.wanted: list[tuple[int, int]] = []

    def choose(self, daily: Collection[str]) -> None:
        """Choose the pairs. What shows ``daily`` at one of the supply's doors waits for no second
        fault at any of them."""
        its = zip(self.faults, self._singles, strict=True)
        self.waits = frozenset(f.id for f, t in its if t.look.waits and f.id not in daily)
        self.wanted = sorted(self._wanted(), key=self._rank)

    @property
    def daily(self) -> set[str]:
        """What shows in daily use here."""
        its = zip(self.faults, self._singles, strict=True)
        return {fault.id for fault, tried in its if tried.look.daily}

    @property
    def counts(self) -> Counts:
        """What was tried here."""
        return self._tries.counts

    @property
    def alone(self) -> Alone:
        """What the other cells of the supply ask."""
        names = (fault.id for fault in self.faults)
        singles = dict(zip(names, self._singles, strict=True))
        return Alone(self.name, self.cell.cell.doors, singles, self._pairs, self._tries.spare)

    def _wanted(self) -> Iterator[tuple[int, int]]:
        """Each silent fault with each other one that shares no place with it; two silent ones
        once."""
        silent = [n for n, fault in enumerate(self.faults) if fault.id in self.waits]
        quiet = {n: _rank(self.faults[n], LAST) for n in silent}
        places = [{(e.what, e.name) for e in f.edits} for f in self.faults]
        for a in silent:
            for b in range(len(self.faults)):
                other = quiet.get(b)
                if other is not None and (other, b) <= (quiet[a], a):
                    continue
                if not places[a] & places[b]:
                    yield a, b

    def _rank(self, pair: tuple[int, int]) -> tuple[bool, int, int, int, int]:
        """Contacts that stand in for each other first."""
        silent, second = (self.faults[n] for n in pair)
        other = pair not in self._twins and pair[::-1] not in self._twins
        return other, *_urgency(silent, second), *pair

    def together(self, chosen: Sequence[tuple[int, int]]) -> Iterator[Pair]:
        """The pairs that do what neither did alone."""
        edits = [(*self.faults[a].edits, *self.faults[b].edits) for a, b in chosen]
        found = []
        for (a, b), tried in zip(chosen, self._tries.of(edits), strict=True):
            if tried.sag is not None:
                self._pairs[frozenset((self.faults[a].id, self.faults[b].id))] = tried
            comes = together(self._singles[a].look, self._singles[b].look, tried.look)
            if comes is not None:
                found.append((a, b, comes))
        silent = {n for a, b, _ in found for n in (a, b) if self.faults[n].id in self.waits}
        meter = self.readings(sorted(silent))
        for a, b, comes in found:
            names = self.faults[a].id, self.faults[b].id
            both = names[1] in self.waits
            yield Pair(self.name, *names, *comes, meter[a], meter.get(b), both)

    def readings(self, silent: Sequence[int]) -> dict[int, Reading | None]:
        """Where a meter tells some silent faults."""
        item, d = self.cell, self._d
        edits = [(), *(self.faults[n].edits for n in silent)]
        run = solve_edits([item.cell], [0] * len(edits), edits, item.cell.scripts[d], new_work())
        members = list(range(1, len(edits)))
        every = np.ones((len(silent), len(item.cases[d].situations)), dtype=bool)
        network, facts, cases = item.cell.network, item.facts[d], item.cases[d]
        found = readings(
            Looks(run), network, facts, cases, 0, members, every, item.elsewhere, item.meters[d]
        )
        return dict(zip(silent, found, strict=True))


class _Supply:
    """The doors of a supply that is shared by several cells, and pairs of faults that one of those
    ``asked`` for feels by way of it."""

    def __init__(
        self, wiring: Wiring, group: Group, doors: Sequence[_Near], asked: Sequence[_Near]
    ) -> None:
        self._wiring, self._group, self._doors = wiring, group, doors
        self._faults = {fault.id: fault for door in doors for fault in door.faults}
        alone = [door.alone for door in doors]
        noticed = {f.id for door in doors for f in door.faults if f.id not in door.waits}
        self._waits = frozenset(self._faults.keys() - noticed)
        names = {door.name for door in asked}
        self.wanted = sorted(
            (
                far
                for own in alone
                if own.door in names
                for far in far_pairs(own, alone, self._waits)
            ),
            key=self._rank,
        )

    def _ordered(self, names: frozenset[str]) -> tuple[str, str]:
        """The silent one first; of two the one that people's lives hang on."""

        def key(name: str) -> tuple[bool, int, str]:
            return name not in self._waits, _rank(self._faults[name], LAST), name

        silent, second = sorted(names, key=key)
        return silent, second

    def _rank(self, far: Far) -> tuple[int, int, str, str, str]:
        silent, second = self._ordered(far.names)
        return *_urgency(self._faults[silent], self._faults[second]), far.door, silent, second

    def together(self, chosen: Sequence[Far]) -> tuple[list[Pair], Counts]:
        """The pairs that do at their doors what neither did alone."""
        if not chosen:
            return [], Counts()
        came, counts = run_far(self._wiring, self._group, chosen)
        told = [(each, self._ordered(each.far.names)) for each in came]
        told = [(each, two) for each, two in told if {two[0]} <= each.quiet & self._waits]
        silent = {n for _, two in told for n in two if n in self._waits}
        meter = self._readings(silent)
        return [
            Pair(
                each.far.door,
                *two,
                each.effect,
                each.situation,
                meter[two[0]],
                meter.get(two[1]),
                two[1] in self._waits,
            )
            for each, two in told
        ], counts

    def _readings(self, names: set[str]) -> Mapping[str, Reading | None]:
        """Where a meter tells some silent faults, each at the first door whose cell has it."""
        found: dict[str, Reading | None] = {}
        for door in self._doors:
            its = [n for n, f in enumerate(door.faults) if f.id in names and f.id not in found]
            if its:
                read = door.readings(its)
                found |= {door.faults[n].id: reading for n, reading in read.items()}
        return found
