"""Doors through their situations: many doors of one shape side by side.

A door is solved with its supply and with what the supply's other doors draw as one curve, where
it comes apart there; otherwise with its whole group.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case
from latchwork.behaviour.network import Network, Things
from latchwork.behaviour.positions import device_rows
from latchwork.behaviour.script import CURVE_MODES, Script, Settings, script, settings
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import Values, compile_shape, stacked
from latchwork.behaviour.situations import HELD_S, LONG_S, DoorInputs, Mode, Situation
from latchwork.behaviour.state import Batch, Point, State, dead
from latchwork.behaviour.timing import passing, step
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
    curves: Mapping[Mode, NDArray[np.float64]] | None = None
    """By site mode: what the other doors of the supply draw, at each of ``values.curve_v``."""


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
                yield from _Side(some).run(work)
                some, columns = [], 0
            some.append(member)
            columns += wide
        yield from _Side(some).run(work)


class _Layout:
    """Columns of the members, one run of columns a member, as long as its script says."""

    def __init__(self, lengths: Sequence[int]) -> None:
        self.starts = np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.intp)
        self.member = np.repeat(np.arange(len(lengths)), lengths)
        self.lengths = lengths


class _Side:
    """Targets of one shape side by side, each with its own script."""

    def __init__(self, members: Sequence[tuple[Target, Script]]) -> None:
        self.targets = [target for target, _ in members]
        self.scripts = [script for _, script in members]
        self.by_script: dict[Script, list[int]] = defaultdict(list)
        for n, its in enumerate(self.scripts):
            self.by_script[its].append(n)
        self.compiled = compile_shape(self.targets[0].network.shape)
        self.values = [t.values for t in self.targets]
        self.curves: NDArray[np.float64] | None = None
        if self.targets[0].curves is not None:
            self.curves = np.array(
                [[(t.curves or {})[mode] for mode in CURVE_MODES] for t in self.targets]
            )

    def batch(self, member: NDArray[np.intp], modes: NDArray[np.intp]) -> Batch:
        """Columns of the given members, the other doors in ``modes`` (one a column)."""
        values = stacked(self.values, member)
        if self.curves is not None:
            values = replace(values, curve_a=self.curves[member, modes].T)
        return Batch(self.compiled, values, len(member))

    def set(self, state: State, layout: _Layout, what: Mapping[Script, Settings]) -> State:
        """``state`` with the inputs of each script set in its members' columns."""
        flags = state.flags.copy()
        for its, members in self.by_script.items():
            what[its].set(flags, layout.starts[members])
        return replace(state, flags=flags)

    def modes(self, which: int) -> NDArray[np.intp]:
        """The other doors' modes of every stage column: before (0) or then (1)."""
        return np.concatenate([[m[which] for m in s.modes] for s in self.scripts]).astype(np.intp)

    def run(self, work: Work | None) -> Iterator[Ran]:
        """Idle, stages, events; then each member's columns in the order of its situations."""
        count = len(self.targets)
        single = _Layout([1] * count)
        idle = dead(self.compiled, count)
        idle = self.set(idle, single, {s: settings([s.idle]) for s in self.by_script})
        idle, _ = step(self.batch(single.member, single.member * 0), idle, LONG_S, work)

        stages = _Layout([len(s.then) for s in self.scripts])
        state = idle.take(stages.member)
        if any(pairs for s in self.by_script for pairs in s.before):
            state = self.set(state, stages, {s: settings(s.before) for s in self.by_script})
            state, _ = step(self.batch(stages.member, self.modes(0)), state, LONG_S, work)
        state = self.set(state, stages, {s: settings(s.then) for s in self.by_script})
        batch = self.batch(stages.member, self.modes(1))
        state, begins = settle(batch, state, work)
        state, held = passing(batch, state, begins, LONG_S, work)
        amps = _amps(batch, begins), _amps(batch, held)
        events = [
            part
            for frozen in (False, True)
            if (part := self.events(stages, state, frozen, work)) is not None
        ]
        for m, target in enumerate(self.targets):
            at = stages.starts[m] + np.array([s for s, _, _ in self.scripts[m].columns])
            ran = Ran(target, _pick(begins, at), _pick(held, at), amps[0][:, at], amps[1][:, at])
            for part in events:
                part.lay(ran, m)
            yield ran

    def events(
        self, stages: _Layout, state: State, frozen: bool, work: Work | None
    ) -> _Events | None:
        """The columns with an event that are ``frozen`` or not, from where their stage ended."""
        places = {
            s: [
                n
                for n, (_, event, still) in enumerate(s.columns)
                if event is not None and still is frozen
            ]
            for s in self.by_script
        }
        layout = _Layout([len(places[s]) for s in self.scripts])
        if len(layout.member) == 0:
            return None
        own = np.concatenate(
            [
                stages.starts[m] + np.array([s.columns[n][0] for n in places[s]], dtype=np.intp)
                for m, s in enumerate(self.scripts)
            ]
        )
        state = self.set(
            state.take(own),
            layout,
            {s: settings([s.columns[n][1] or () for n in places[s]]) for s in self.by_script},
        )
        batch = self.batch(layout.member, self.modes(1)[own])
        state, begins = settle(batch, state, work, frozen=frozen)
        held = begins
        if not frozen:
            _, held = passing(batch, state, begins, HELD_S, work)
        at = [np.array(places[s], dtype=np.intp) for s in self.scripts]
        return _Events(layout, at, begins, held, _amps(batch, begins), _amps(batch, held))


@dataclass(frozen=True, slots=True)
class _Events:
    """Situations with an event, solved: ``at`` are each member's places among its situations."""

    layout: _Layout
    at: list[NDArray[np.intp]]
    begins: Point
    held: Point
    begins_a: NDArray[np.float64]
    held_a: NDArray[np.float64]

    def lay(self, ran: Ran, member: int) -> None:
        """Put a member's columns into its freshly picked ``ran``."""
        to = self.at[member]
        own = slice(self.layout.starts[member], self.layout.starts[member] + len(to))
        for name in _POINT_ROWS:
            getattr(ran.begins, name)[..., to] = getattr(self.begins, name)[..., own]
            getattr(ran.held, name)[..., to] = getattr(self.held, name)[..., own]
        ran.begins_a[:, to] = self.begins_a[:, own]
        ran.held_a[:, to] = self.held_a[:, own]


_POINT_ROWS = (
    "volts",
    "flags",
    "bolts",
    "sense_low_v",
    "sense_high_v",
    "flips",
    "chatter",
    "solved",
)


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
