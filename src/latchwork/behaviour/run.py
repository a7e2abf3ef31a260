"""Doors through their situations: many doors of one shape side by side.

A door is solved with its supply and with what the supply's other doors draw as one curve, where
it comes apart there; otherwise with its whole group.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case
from latchwork.behaviour.compiled_scripts import play
from latchwork.behaviour.network import Network, Things
from latchwork.behaviour.script import (
    CURVE_MODES,
    First,
    Script,
    Settings,
    script,
    settings,
)
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import Compiled, Values, compile_shape, stacked
from latchwork.behaviour.situations import HELD_S, LONG_S, DoorInputs, Mode, Situation
from latchwork.behaviour.solved import Layout, Part, Places, Solved, events_of
from latchwork.behaviour.state import Batch, Forced, Members, Point, State, dead
from latchwork.behaviour.timing import passing, put, put_both, step
from latchwork.circuit import Work

MOST_COLUMNS = 16_000


@dataclass(frozen=True, slots=True)
class Target:
    """One door to be run: its network, in which case, through which situations."""

    door: str
    case: Case
    network: Network
    things: Things
    values: Values
    inputs: DoorInputs
    situations: tuple[Situation, ...]
    curves: Mapping[Mode | First, NDArray[np.float64]] | None = None
    """For each of ``CURVE_MODES``: what the supply's other doors draw, at ``values.curve_v``."""


@dataclass(frozen=True, slots=True)
class Ran:
    """What came of a target: a point for each moment, columns as its situations."""

    target: Target
    begins: Point
    held: Point
    begins_a: NDArray[np.float64]
    """Amperes of each device branch (sources give, loads take), devices x situations."""
    held_a: NDArray[np.float64]


def run(targets: Iterable[Target], work: Work | None = None) -> Iterator[Ran]:
    """Run targets, those of one shape side by side; the results come shape by shape."""
    alike: dict[object, list[tuple[Target, Script]]] = defaultdict(list)
    scripts: dict[tuple[int, int, int], Script] = {}
    for target in targets:
        key = id(target.network), id(target.inputs), id(target.situations)
        if key not in scripts:
            scripts[key] = script(target.network, target.inputs, target.situations)
        grid = tuple(target.values.curve_v) if target.curves is not None else ()
        alike[target.network.shape, grid].append((target, scripts[key]))
    for members in alike.values():
        some: list[tuple[Target, Script]] = []
        columns = 0
        for member in members:
            wide = max(len(member[1].columns), len(member[1].then))
            if some and columns + wide > MOST_COLUMNS:
                yield from _run_alike(some, work)
                some, columns = [], 0
            some.append(member)
            columns += wide
        yield from _run_alike(some, work)


def _run_alike(members: Sequence[tuple[Target, Script]], work: Work | None) -> Iterator[Ran]:
    targets = [target for target, _ in members]
    values = stacked([t.values for t in targets], np.arange(len(targets)))
    side = Side(
        compile_shape(targets[0].network.shape),
        values,
        tuple(script for _, script in members),
        curve_table(targets),
    )
    solved = side.solve(work)
    for m, target in enumerate(targets):
        yield Ran(target, *solved.member(m))


def curve_table(targets: Sequence[Target]) -> NDArray[np.float64] | None:
    """What the other doors draw: targets x modes x points; None where nothing hangs there."""
    if targets[0].curves is None:
        return None
    return np.array([[(t.curves or {})[mode] for mode in CURVE_MODES] for t in targets])


class Side:
    """What-ifs of one shape side by side: each member has its numbers, its script, its curves,
    and flags that are stuck."""

    def __init__(
        self,
        compiled: Compiled,
        values: Values,
        scripts: Sequence[Script],
        curves: NDArray[np.float64] | None = None,
        forced: Mapping[int, Forced] | None = None,
    ) -> None:
        self.scripts = scripts
        self.curves = curves
        self.forced = dict(sorted((forced or {}).items()))
        self.compiled = compiled
        rows = None if curves is None else curves.reshape(-1, curves.shape[2])
        self.members = Members(compiled, values, len(scripts), self.forced, rows)
        same = {id(its): its for its in scripts}
        number = {its: n for n, its in enumerate(dict.fromkeys(same.values()))}
        which = {key: number[its] for key, its in same.items()}
        kinds = np.array([which[id(its)] for its in scripts], dtype=np.intp)
        self.kinds = kinds.tolist()
        """For each member which of the scripts it has."""
        self.by_script = {its: np.flatnonzero(kinds == n) for its, n in number.items()}

    def _batch(self, member: NDArray[np.intp], modes: NDArray[np.intp]) -> Batch:
        """Columns of the given members, the other doors in ``modes`` (one a column)."""
        curve = None if self.curves is None else member * self.curves.shape[1] + modes
        return Batch(self.members, len(member), member, curve)

    def _set(self, state: State, layout: Layout, what: Mapping[Script, Settings]) -> State:
        """``state`` with the inputs of each script set in its members' columns."""
        flags = state.flags.copy(order="K")
        for its, members in self.by_script.items():
            what[its].set(flags, layout.starts[members])
        for flag, stuck in self.forced.items():
            feed = None if stuck.feed is None else flags[stuck.feed]
            flags[flag] = stuck.take(layout.member).over(flags[flag], feed)
        return replace(state, flags=flags)

    def _modes(self, which: int) -> NDArray[np.intp]:
        """What the other doors are in, for every stage: before (0), at first (1), then (2)."""
        return self._of_all([[m[which] for m in its.modes] for its in self.by_script], np.intp)

    def _of_all(self, by_script: Sequence[Sequence[Any]], kind: type) -> NDArray[Any]:
        """What each script says, for all members one after the other."""
        rows: list[NDArray[Any]] = [np.array(row, dtype=kind) for row in by_script]
        return np.concatenate([rows[n] for n in self.kinds])

    def solve(self, work: Work | None = None) -> Solved:
        """Idle, stages, events, of all members."""
        if work is not None and work.compiled and self.members.packed is not None:
            return self._played(work)
        count = len(self.scripts)
        single = Layout([1] * count)
        idle = dead(self.compiled, count)
        idle = self._set(idle, single, {s: settings([s.idle]) for s in self.by_script})
        idle, _ = step(self._batch(single.member, single.member * 0), idle, LONG_S, work)

        stages = Layout([len(s.then) for s in self.scripts])
        state = self._before(stages, idle.take(stages.member), work)
        state = self._set(state, stages, {s: settings(s.then) for s in self.by_script})
        first = self._batch(stages.member, self._modes(1))
        state, begins = settle(first, state, work)
        batch = self._batch(stages.member, self._modes(2))
        state, held = self._calmed(batch, state, begins, work)
        state, held = passing(batch, state, held, LONG_S, work)
        parts = [Part(stages, (), begins, held, first, batch)]
        for frozen in (False, True):
            part = self._events(stages, state, frozen, work)
            if part is not None:
                parts.append(part)
        return Solved(tuple(self.scripts), tuple(parts))

    def _played(self, work: Work) -> Solved:
        """The same by compiled code, which takes one member after the other."""
        stages = Layout([len(s.then) for s in self.scripts])
        usual, still = self._layout(frozen=False), self._layout(frozen=True)
        curves = 0 if self.curves is None else self.curves.shape[1]
        kinds = np.array(self.kinds, dtype=np.int64)
        scripts, layouts = tuple(self.by_script), (stages, usual, still)
        points = play(self.members, scripts, kinds, layouts, curves, work)
        first, then = (self._batch(stages.member, self._modes(n)) for n in (1, 2))
        parts = [Part(stages, (), *points[0], first, then)]
        for layout, frozen, its in ((usual, False, points[1]), (still, True, points[2])):
            if len(layout.member):
                own = self._stages(stages, layout, frozen)
                batch = self._batch(layout.member, self._modes(2)[own])
                parts.append(Part(layout, self._places(frozen), *its, batch, batch))
        return Solved(tuple(self.scripts), tuple(parts))

    def _layout(self, *, frozen: bool) -> Layout:
        """Columns of the events that are ``frozen`` or not."""
        lengths = [len(events_of(s, frozen)) for s in self.by_script]
        return Layout([lengths[n] for n in self.kinds])

    def _stages(self, stages: Layout, events: Layout, frozen: bool) -> NDArray[np.intp]:
        """In which column its stage is, for each column of an event."""
        own = [[stage for stage, _ in events_of(s, frozen)] for s in self.by_script]
        return self._of_all(own, np.intp) + np.repeat(stages.starts, events.lengths)

    def _places(self, frozen: bool) -> tuple[Places, ...]:
        their = [Places.of(s, frozen) for s in self.by_script]
        return tuple(their[n] for n in self.kinds)

    def _calmed(
        self, batch: Batch, state: State, point: Point, work: Work | None
    ) -> tuple[State, Point]:
        """``state`` when the other doors' first moment is over."""
        chosen = np.flatnonzero(self._modes(1) != self._modes(2))
        if self.curves is None or len(chosen) == 0:
            return state, point
        after, reached = settle(batch.take(chosen), state.take(chosen), work)
        return put_both((state, point), (after, reached), chosen)

    def _before(self, stages: Layout, state: State, work: Work | None) -> State:
        """Take the stages that start from something else than idle there."""
        lists = {s: settings(s.before) for s in self.by_script}
        changed = self._of_all([[bool(p) for p in its.before] for its in self.by_script], bool)
        chosen = np.flatnonzero(changed)
        if len(chosen) == 0:
            return state
        batch = self._batch(stages.member[chosen], self._modes(0)[chosen])
        after, _ = step(batch, self._set(state, stages, lists).take(chosen), LONG_S, work)
        return put(state, after, chosen)

    def _events(self, stages: Layout, state: State, frozen: bool, work: Work | None) -> Part | None:
        """The columns with an event that are ``frozen`` or not, from where their stage ended."""
        layout = self._layout(frozen=frozen)
        if len(layout.member) == 0:
            return None
        own = self._stages(stages, layout, frozen)
        lists = {s: settings([p for _, p in events_of(s, frozen)]) for s in self.by_script}
        state = self._set(state.take(own), layout, lists)
        batch = self._batch(layout.member, self._modes(2)[own])
        state, begins = settle(batch, state, work, frozen=frozen)
        held = begins
        if not frozen:
            _, held = passing(batch, state, begins, HELD_S, work)
        return Part(layout, self._places(frozen), begins, held, batch, batch)
