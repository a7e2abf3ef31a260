"""Doors through their situations: many doors of one shape side by side.

A door is solved with its supply and with what the supply's other doors draw as one curve, where
it comes apart there; otherwise with its whole group.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case
from latchwork.behaviour.network import Network, Things
from latchwork.behaviour.positions import device_rows
from latchwork.behaviour.script import (
    CURVE_MODES,
    First,
    Pairs,
    Script,
    Settings,
    script,
    settings,
)
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import Compiled, Values, compile_shape, stacked
from latchwork.behaviour.situations import HELD_S, LONG_S, DoorInputs, Mode, Situation
from latchwork.behaviour.state import Batch, Forced, Members, Point, State, dead
from latchwork.behaviour.timing import passing, put, put_point, step
from latchwork.circuit import Work, device_current

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


class _Layout:
    """Columns of the members, one run of columns a member, as long as its script says."""

    def __init__(self, lengths: Sequence[int]) -> None:
        self.lengths = lengths
        self.starts = np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.intp)
        self.member = np.repeat(np.arange(len(lengths)), lengths)


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
        self.forced = forced or {}
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

    def _set(self, state: State, layout: _Layout, what: Mapping[Script, Settings]) -> State:
        """``state`` with the inputs of each script set in its members' columns."""
        flags = state.flags.copy(order="K")
        for its, members in self.by_script.items():
            what[its].set(flags, layout.starts[members])
        for flag, stuck in self.forced.items():
            flags[flag] = stuck.take(layout.member).over(flags[flag], flags)
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
        count = len(self.scripts)
        single = _Layout([1] * count)
        idle = dead(self.compiled, count)
        idle = self._set(idle, single, {s: settings([s.idle]) for s in self.by_script})
        idle, _ = step(self._batch(single.member, single.member * 0), idle, LONG_S, work)

        stages = _Layout([len(s.then) for s in self.scripts])
        state = self._before(stages, idle.take(stages.member), work)
        state = self._set(state, stages, {s: settings(s.then) for s in self.by_script})
        first = self._batch(stages.member, self._modes(1))
        state, begins = settle(first, state, work)
        batch = self._batch(stages.member, self._modes(2))
        state, held = self._calmed(batch, state, begins, work)
        state, held = passing(batch, state, held, LONG_S, work)
        parts = [_Part(stages, (), begins, held, first, batch)]
        for frozen in (False, True):
            part = self._events(stages, state, frozen, work)
            if part is not None:
                parts.append(part)
        return Solved(tuple(self.scripts), tuple(parts))

    def _calmed(
        self, batch: Batch, state: State, point: Point, work: Work | None
    ) -> tuple[State, Point]:
        """``state`` when the other doors' first moment is over."""
        chosen = np.flatnonzero(self._modes(1) != self._modes(2))
        if self.curves is None or len(chosen) == 0:
            return state, point
        after, reached = settle(batch.take(chosen), state.take(chosen), work)
        return put(state, after, chosen), put_point(point, reached, chosen)

    def _before(self, stages: _Layout, state: State, work: Work | None) -> State:
        """Take the stages that start from something else than idle there."""
        lists = {s: settings(s.before) for s in self.by_script}
        changed = self._of_all([[bool(p) for p in its.before] for its in self.by_script], bool)
        chosen = np.flatnonzero(changed)
        if len(chosen) == 0:
            return state
        state = self._set(state, stages, lists)
        batch = self._batch(stages.member[chosen], self._modes(0)[chosen])
        after, _ = step(batch, state.take(chosen), LONG_S, work)
        return put(state, after, chosen)

    def _events(
        self, stages: _Layout, state: State, frozen: bool, work: Work | None
    ) -> _Part | None:
        """The columns with an event that are ``frozen`` or not, from where their stage ended."""
        shown = {s: _shown(s, frozen) for s in self.by_script}
        places = {s: list(of.values()) for s, of in shown.items()}
        lengths = [len(some) for some in places.values()]
        layout = _Layout([lengths[n] for n in self.kinds])
        if len(layout.member) == 0:
            return None
        own = self._of_all(
            [[its.columns[n][0] for n in some] for its, some in places.items()], np.intp
        )
        own += np.repeat(stages.starts, layout.lengths)
        state = self._set(
            state.take(own),
            layout,
            {s: settings([s.columns[n][1] or () for n in places[s]]) for s in self.by_script},
        )
        batch = self._batch(layout.member, self._modes(2)[own])
        state, begins = settle(batch, state, work, frozen=frozen)
        held = begins
        if not frozen:
            _, held = passing(batch, state, begins, HELD_S, work)
        where = {s: _Places.of(s, frozen, shown[s]) for s in self.by_script}
        their = list(where.values())
        at = tuple(their[n] for n in self.kinds)
        return _Part(layout, at, begins, held, batch, batch)


def _shown(its: Script, frozen: bool) -> dict[tuple[int, Pairs], int]:
    """The events of a script by stage and inputs, each with the first situation it is in."""
    first: dict[tuple[int, Pairs], int] = {}
    for n, (stage, event, still) in enumerate(its.columns):
        if event is not None and still is frozen:
            first.setdefault((stage, event), n)
    return first


@dataclass(frozen=True, slots=True)
class _Places:
    """Which situations show events, and which of a member's solved columns each of them is."""

    situations: NDArray[np.intp]
    columns: NDArray[np.intp]

    @classmethod
    def of(cls, its: Script, frozen: bool, shown: Mapping[tuple[int, Pairs], int]) -> _Places:
        """The places of a script's events that are ``frozen`` or not."""
        number = {key: n for n, key in enumerate(shown)}
        found = [
            (n, number[stage, event])
            for n, (stage, event, still) in enumerate(its.columns)
            if event is not None and still is frozen
        ]
        return cls(*np.array(found, dtype=np.intp).reshape(-1, 2).T)


@dataclass(frozen=True)
class _Part:
    """Solved columns. ``at``: for events where each member's are; () for the stages."""

    layout: _Layout
    at: tuple[_Places, ...]
    begins: Point
    held: Point
    first: Batch
    then: Batch
    """The batches as it begins and is held."""

    @cached_property
    def begins_a(self) -> NDArray[np.float64]:
        """Amperes of each device branch as it begins."""
        return _amps(self.first, self.begins)

    @cached_property
    def held_a(self) -> NDArray[np.float64]:
        """Amperes of each device branch, held."""
        return _amps(self.then, self.held)


_POINT_ROWS = (
    "volts",
    "flags",
    "bolts",
    "sense_low_v",
    "sense_high_v",
    "flips",
    "chatter",
    "solved",
    "bonds",
)


@dataclass(frozen=True, slots=True)
class Solved:
    """Every member's stages and events."""

    scripts: tuple[Script, ...]
    parts: tuple[_Part, ...]

    def member(self, m: int) -> tuple[Point, Point, NDArray[np.float64], NDArray[np.float64]]:
        """A member's points as events begin and held, and device amperes, by situation."""
        stages = self.parts[0]
        at = stages.layout.starts[m] + np.array([s for s, _, _ in self.scripts[m].columns])
        begins, held = _pick(stages.begins, at), _pick(stages.held, at)
        begins_a, held_a = stages.begins_a[:, at], stages.held_a[:, at]
        for part in self.parts[1:]:
            to = part.at[m].situations
            own = part.layout.starts[m] + part.at[m].columns
            for name in _POINT_ROWS:
                getattr(begins, name)[..., to] = getattr(part.begins, name)[..., own]
                getattr(held, name)[..., to] = getattr(part.held, name)[..., own]
            begins_a[:, to] = part.begins_a[:, own]
            held_a[:, to] = part.held_a[:, own]
        return begins, held, begins_a, held_a

    def all_solved(self) -> NDArray[np.bool_]:
        """Members x situations: whether both moments came to rest."""
        done: NDArray[np.bool_] = self._rows("solved", None, held=False)
        done &= self._rows("solved", None, held=True)
        return done

    def any_chatter(self) -> NDArray[np.bool_]:
        """Members x situations: whether one of the moments chatters."""
        either: NDArray[np.bool_] = self._rows("chatter", None, held=False)
        either |= self._rows("chatter", None, held=True)
        return either

    def rows(self, name: str, row: int, *, held: bool) -> NDArray[Any]:
        """One row of the points, members x situations; all members have one script."""
        return self._rows(name, row, held=held)

    def at(
        self, name: str, members: NDArray[np.intp], situations: NDArray[np.intp], *, held: bool
    ) -> NDArray[Any]:
        """All rows of the points of some members, each in its situation; all have one script."""
        point = "held" if held else "begins"
        stages = np.array([s for s, _, _ in self.scripts[0].columns], dtype=np.intp)
        first = self.parts[0]
        table = getattr(getattr(first, point), name)
        out: NDArray[Any] = table[..., first.layout.starts[members] + stages[situations]]
        for part in self.parts[1:]:
            place = np.full(len(stages), -1, dtype=np.intp)
            place[part.at[0].situations] = part.at[0].columns
            own = place[situations] >= 0
            table = getattr(getattr(part, point), name)
            columns = part.layout.starts[members[own]] + place[situations[own]]
            out[..., own] = table[..., columns]
        return out

    def _rows(self, name: str, row: int | None, *, held: bool) -> NDArray[Any]:
        point = "held" if held else "begins"

        def of(part: _Part) -> NDArray[Any]:
            table = getattr(getattr(part, point), name)
            line: NDArray[Any] = table if row is None else table[row]
            return line.reshape(len(self.scripts), -1)

        out = of(self.parts[0])[:, [s for s, _, _ in self.scripts[0].columns]]
        for part in self.parts[1:]:
            out[:, part.at[0].situations] = of(part)[:, part.at[0].columns]
        return out


def _pick(point: Point, at: NDArray[np.intp]) -> Point:
    rows = {name: getattr(point, name)[..., at] for name in _POINT_ROWS}
    return Point(**rows, start=point.start)


def _amps(batch: Batch, point: Point) -> NDArray[np.float64]:
    """Amperes of each device branch at a point."""
    rows = device_rows(batch.compiled, batch.values, point.flags)
    amps = np.empty((len(rows), batch.columns))
    for n, row in enumerate(rows):
        amps[n] = device_current(row, point.start.volts[n], point.start.regions[n])
    return amps
