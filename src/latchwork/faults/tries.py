"""What-ifs at one door of a cell, each of some edits, held against the door without them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour import new_work
from latchwork.faults.company import Look, looked
from latchwork.faults.consequences import judge
from latchwork.faults.engine import most_columns, solve_edits
from latchwork.faults.looks import Looks, SoundDoor
from latchwork.faults.model import Counts, Edit
from latchwork.faults.prepare import Prepared
from latchwork.faults.sags import NOTHING, Sags, sags, slack


@dataclass(frozen=True, slots=True)
class Tried:
    """What some edits do to a door; by how much they pull its supply down (None: they do not); and
    by how much that may sag besides before the door does otherwise again."""

    look: Look
    sag: Sags | None
    spare: Sags


class Tries:
    """One door of a cell, and what is tried there. ``counts`` is counted up; ``spare``: by how much
    the supply may sag at the sound door, once something was tried."""

    def __init__(self, cell: Prepared, d: int) -> None:
        self.cell = cell
        self.door = cell.cell.doors[d]
        self.counts = Counts()
        self.spare: Sags = NOTHING
        self._d = d
        self._sound: tuple[SoundDoor, NDArray[np.float64]] | None = None

    def of(self, edits: Sequence[tuple[Edit, ...]]) -> Iterator[Tried]:
        """Each of ``edits`` tried."""
        its = self.cell.cell.scripts[self._d]
        most = max(2, most_columns() // len(its.columns))
        for at in range(0, len(edits), most):
            yield from self._some(edits[at : at + most])

    def _some(self, edits: Sequence[tuple[Edit, ...]]) -> Iterator[Tried]:
        item, d = self.cell, self._d
        facts, cases = item.facts[d], item.cases[d]
        first: list[tuple[Edit, ...]] = [] if self._sound else [()]
        every, work = [*first, *edits], new_work()
        run = solve_edits([item.cell], [0] * len(every), every, item.cell.scripts[d], work)
        looks = Looks(run)
        if self._sound is None:
            self._sound = looks.sound(facts, 0), looks.volts(*item.hub)[0]
            if item.neighbours:
                (self.spare,) = slack(looks, cases, [0], [item])
        sound, volts = self._sound
        rows = slice(len(first), len(every))
        self.counts += looks.counts(facts, cases, item.powered[d], rows)
        self.counts += Counts(
            eliminations=work.eliminations,
            newton_steps=work.newton_steps,
            reductions=work.reductions,
        )
        states, seen = looks.states(facts)[:, rows], looks.seen(facts)[:, rows]
        whose = np.zeros(len(edits), dtype=np.intp)
        judged = judge(states, seen, sound.states, sound.seen, whose, facts, cases)
        found = looked(judged, cases)
        if not item.neighbours:
            yield from (Tried(look, None, NOTHING) for look in found)
            return
        sag = dict(zip(*sags(cases, looks.volts(*item.hub)[rows], volts), strict=True))
        spare = slack(looks, cases, range(rows.start, rows.stop), [item] * len(edits))
        for n, look in enumerate(found):
            yield Tried(look, sag.get(n), spare[n])
