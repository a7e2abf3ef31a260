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
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import Values, compile_shape, stacked
from latchwork.behaviour.situations import (
    ALONE,
    HELD_S,
    LONG_S,
    DoorInputs,
    Event,
    Inputs,
    Mode,
    Power,
    Situation,
)
from latchwork.behaviour.state import Batch, Point, State, dead, with_inputs
from latchwork.behaviour.timing import step
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


Stage = tuple[Power, Mode, str]


@dataclass(frozen=True, slots=True)
class _Script:
    """The stages of a set of situations as flag numbers, the same for like doors."""

    idle: tuple[tuple[int, bool], ...]
    stages: tuple[tuple[tuple[tuple[int, bool], ...], tuple[tuple[int, bool], ...]], ...]
    """For each (power, mode): what holds before, and then."""
    modes: tuple[tuple[Mode, Mode], ...]
    """For each stage the site mode of the other doors before, and then."""
    columns: tuple[tuple[int, tuple[tuple[int, bool], ...] | None, bool], ...]
    """For each situation its stage, the event's inputs (None: nobody), whether logic is frozen."""


def _numbers(network: Network, inputs: Inputs) -> tuple[tuple[int, bool], ...]:
    found = [
        (network.flags[name], value)
        for name, value in inputs.items()
        if name in network.flags and (name in network.inputs or ":" in name)
    ]
    return tuple(sorted(found))


def _script(target: Target) -> _Script:
    network, inputs = target.network, target.inputs
    stages: dict[Stage, int] = {}
    columns = []
    powers: dict[tuple[Power, str], tuple[Inputs, Inputs]] = {}
    modes: dict[Mode, tuple[Inputs, Inputs]] = {}
    events: dict[tuple[Event, str], tuple[tuple[int, bool], ...] | None] = {}
    for s in target.situations:
        lost = s.which if s.power is Power.ONE_LOST else ""
        powers.setdefault(
            (s.power, lost), (inputs.before_power(s.power), inputs.power(s.power, lost))
        )
        modes.setdefault(s.mode, (inputs.before_mode(s.mode), inputs.mode(s.mode)))
        stage = stages.setdefault((s.power, s.mode, lost), len(stages))
        doing = "" if s.power is Power.ONE_LOST else s.which
        if (s.event, doing) not in events:
            events[s.event, doing] = (
                None if s.event is Event.NOBODY else _numbers(network, inputs.event(s.event, doing))
            )
        columns.append((stage, events[s.event, doing], s.event in ALONE))
    rest = {
        f"{name.split(':')[0]}:latch_out": True for name in network.flags if ":latch_out" in name
    }
    return _Script(
        _numbers(network, rest),
        tuple(
            (
                _numbers(network, {**powers[p, lost][0], **modes[m][0]}),
                _numbers(network, {**powers[p, lost][1], **modes[m][1]}),
            )
            for p, m, lost in stages
        ),
        tuple((_others_before(m), _others_then(m)) for _, m, _ in stages),
        tuple(columns),
    )


def _others_before(mode: Mode) -> Mode:
    return Mode.FIRE_ALARM if mode is Mode.FIRE_RESET else Mode.NORMAL


def _others_then(mode: Mode) -> Mode:
    return mode if mode in (Mode.FIRE_ALARM, Mode.PANEL_LOST) else Mode.NORMAL


def run(targets: Iterable[Target], work: Work | None = None) -> Iterator[Ran]:
    """Run targets, those of one shape and script together; the order of the results is by shape."""
    alike: dict[object, list[tuple[Target, _Script]]] = defaultdict(list)
    for target in targets:
        script = _script(target)
        curve = tuple(target.values.curve_v) if target.curves else ()
        alike[target.network.shape, script, curve].append((target, script))
    for members in alike.values():
        script = members[0][1]
        most = max(1, MOST_COLUMNS // max(len(script.columns), 1))
        for at in range(0, len(members), most):
            yield from _run_alike([t for t, _ in members[at : at + most]], script, work)


def _spread(count: int, each: int) -> NDArray[np.intp]:
    """0 0 0 1 1 1 2 2 2 …: which of ``count`` members a column belongs to."""
    return np.repeat(np.arange(count), each)


def _apply(state: State, lists: Sequence[tuple[tuple[int, bool], ...]], members: int) -> State:
    """Set inputs; ``lists`` holds those of each column of one member, members side by side."""
    columns: dict[int, list[tuple[int, bool]]] = defaultdict(list)
    for column, pairs in enumerate(lists):
        for flag, value in pairs:
            columns[flag].append((column, value))
    flags = state.flags.copy()
    per = len(lists)
    for flag, settings in columns.items():
        row = flags[flag].reshape(members, per)
        for column, value in settings:
            row[:, column] = value
    return replace(state, flags=flags)


class _Alike:
    """Targets of one shape side by side."""

    def __init__(self, targets: Sequence[Target]) -> None:
        self.targets = targets
        self.compiled = compile_shape(targets[0].network.shape)
        self.values = [t.values for t in targets]

    def batch(self, member: NDArray[np.intp], modes: Sequence[Mode]) -> Batch:
        """Columns of the given members, the other doors in ``modes`` (one a column)."""
        values = stacked(self.values, member)
        if self.targets[0].curves is not None:
            amps = np.stack(
                [
                    (self.targets[m].curves or {})[mode]
                    for m, mode in zip(member, modes, strict=True)
                ],
                axis=1,
            )
            values = replace(values, curve_a=amps)
        return Batch(self.compiled, values, len(member))


def _run_alike(targets: Sequence[Target], script: _Script, work: Work | None) -> Iterator[Ran]:
    alike = _Alike(targets)
    count, stages = len(targets), len(script.stages)
    each = _spread(count, 1)
    idle_batch = alike.batch(each, [Mode.NORMAL] * count)
    idle = with_inputs(dead(alike.compiled, count), dict(script.idle))
    idle, _ = step(idle_batch, idle, LONG_S, work)

    member = _spread(count, stages)
    state = idle.take(member)
    before_modes = [m for m, _ in script.modes] * count
    if any(before for before, _ in script.stages):
        state = _apply(state, [before for before, _ in script.stages], count)
        state, _ = step(alike.batch(member, before_modes), state, LONG_S, work)
    state = _apply(state, [then for _, then in script.stages], count)
    stage_batch = alike.batch(member, [m for _, m in script.modes] * count)
    state, stage_begins = settle(stage_batch, state, work)
    state, stage_held = step(stage_batch, state, LONG_S, work)
    begins_a, held_a = _amps(stage_batch, stage_begins), _amps(stage_batch, stage_held)

    events = [
        part
        for frozen in (False, True)
        if (part := _run_events(alike, script, state, frozen, work)) is not None
    ]
    for m, target in enumerate(targets):
        at = np.array([s + m * stages for s, _, _ in script.columns])
        begins, held = _pick(stage_begins, at), _pick(stage_held, at)
        begin_rows, held_rows = begins_a[:, at], held_a[:, at]
        for part in events:
            own = np.arange(len(part.columns)) + m * len(part.columns)
            _lay(begins, part.begins, part.columns, own)
            _lay(held, part.held, part.columns, own)
            begin_rows[:, part.columns] = part.begins_a[:, own]
            held_rows[:, part.columns] = part.held_a[:, own]
        yield Ran(target, begins, held, begin_rows, held_rows)


@dataclass(frozen=True, slots=True)
class _Events:
    """The situations with an event, solved: ``columns`` are their places among a target's."""

    columns: NDArray[np.intp]
    begins: Point
    held: Point
    begins_a: NDArray[np.float64]
    held_a: NDArray[np.float64]


def _run_events(
    alike: _Alike, script: _Script, state: State, frozen: bool, work: Work | None
) -> _Events | None:
    """The event columns that are ``frozen`` or not, from the ``state`` their stages ended in."""
    count, stages = len(alike.targets), len(script.stages)
    places = [
        n
        for n, (_, event, still) in enumerate(script.columns)
        if event is not None and still is frozen
    ]
    if not places:
        return None
    own = np.array([script.columns[n][0] for n in places])
    member = _spread(count, len(places))
    state = state.take(member * stages + np.tile(own, count))
    state = _apply(state, [script.columns[n][1] or () for n in places], count)
    batch = alike.batch(member, [script.modes[s][1] for s in own] * count)
    state, begins = settle(batch, state, work, frozen=frozen)
    begins_a = _amps(batch, begins)
    if frozen:
        return _Events(np.array(places), begins, begins, begins_a, begins_a)
    _, held = step(batch, state, HELD_S, work)
    return _Events(np.array(places), begins, held, begins_a, _amps(batch, held))


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


def _lay(point: Point, part: Point, columns: NDArray[np.intp], own: NDArray[np.intp]) -> None:
    """Put ``own`` columns of ``part`` at ``columns`` of a freshly picked ``point``."""
    for name in _POINT_ROWS:
        getattr(point, name)[..., columns] = getattr(part, name)[..., own]


def _amps(batch: Batch, point: Point) -> NDArray[np.float64]:
    """Amperes of each device branch at a point."""
    rows = device_rows(batch.compiled, batch.values, point.flags)
    if not rows:
        return np.zeros((0, batch.columns))
    return np.stack(
        [
            np.broadcast_to(device_current(row, v, r), (batch.columns,))
            for row, v, r in zip(rows, point.start.volts, point.start.regions, strict=True)
        ]
    )
