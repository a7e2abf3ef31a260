"""Contacts by fixed point: solve, let the fastest class that wants to move do so, again.

The state of a column that came back with no time passing is chatter. Volts are watched over
every position visited, not only the last.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.shape import (
    CURRENT_LOAD,
    CURVE,
    POWER_LOAD,
    SOURCE,
    Array,
    Compiled,
    Values,
)
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED, Batch, Point, State
from latchwork.circuit import (
    CurveRow,
    Device,
    DiodeRow,
    Injection,
    LoadRow,
    Row,
    Solution,
    SourceRow,
    Start,
    Work,
    solve,
)
from latchwork.elements import Speed

Bools = NDArray[np.bool_]
MOST_ROUNDS = 64
MOST_PASSES = 12
"""Logic within one class comes to rest in a few passes or is chatter."""
POLYMER_OHM = 100.0
POLYMER_BACK_V = 1.0
"""A tripped polymer fuse: about a watt at 12 V keeps it hot (common practice, no source)."""
STEP_END = 1e-9


def conductance_rows(compiled: Compiled, values: Values, flags: Bools) -> list[Row | None]:
    """Siemens of each linear branch, then each rail; None where it conducts in no column."""
    rows: list[Row | None] = [
        1.0 / values.ohm[n] if on else None for n, on in enumerate(compiled.always)
    ]
    fuses = {branch: blown for branch, blown, resets in compiled.shape.fuses if resets}
    for n, gate in compiled.gates:
        closed = gate(flags)
        shut = 1.0 / values.ohm[n]
        if closed.all():
            rows[n] = shut
        elif n in fuses:
            rows[n] = np.where(closed, shut, 1.0 / POLYMER_OHM)
        elif closed.any():
            rows[n] = np.where(closed, shut, 0.0)
    for n, on in enumerate(compiled.rail_on):
        lit = on(flags)
        shut = 1.0 / values.rail_ohm[n]
        rows.append(shut if lit.all() else np.where(lit, shut, 0.0) if lit.any() else None)
    return rows


def device_rows(compiled: Compiled, values: Values, flags: Bools) -> list[Device]:
    """The non-linear branches with their numbers for these flags."""
    rows: list[Device] = []
    source = load = diode = 0
    for n, (kind, _, _, _, _) in enumerate(compiled.shape.devices):
        on = compiled.device_on[n](flags).astype(float)
        if kind == SOURCE:
            low = compiled.device_low[n](flags)
            volt = np.where(low, values.source_low_volt[source], values.source_volt[source])
            rows.append(
                SourceRow(
                    volt,
                    values.source_ohm[source],
                    values.source_limit_a[source],
                    values.source_fold_a[source],
                    on,
                )
            )
            source += 1
        elif kind in (POWER_LOAD, CURRENT_LOAD):
            rows.append(
                LoadRow(kind == POWER_LOAD, values.load_amount[load], values.load_floor_v[load], on)
            )
            load += 1
        elif kind == CURVE:
            rows.append(CurveRow(values.curve_v, values.curve_a))
        else:
            rows.append(DiodeRow(values.diode_a[diode], values.diode_scale_v[diode]))
            diode += 1
    return rows


def solve_at(batch: Batch, flags: Bools, start: Start | None, work: Work | None = None) -> Solution:
    """The volts with every contact as ``flags`` says."""
    compiled, values, shape = batch.compiled, batch.values, batch.compiled.shape
    rows = conductance_rows(compiled, values, flags)
    injections = []
    for n, (plus, minus, _) in enumerate(shape.rails):
        row = rows[len(shape.linear) + n]
        if row is not None:
            injections.append(Injection(plus, minus, row * values.rail_volt[n]))
    return solve(
        compiled.order,
        shape.nodes,
        compiled.device_branches,
        rows,
        injections,
        device_rows(compiled, values, flags),
        batch.columns,
        start,
        work,
    )


def gate_bits(compiled: Compiled, flags: Bools, columns: int) -> Bools:
    """What the circuit hangs on: one row for each branch or device that flags switch."""
    rows = [gate(flags) for _, gate in compiled.gates]
    rows += [on(flags) for on in compiled.rail_on]
    rows += [on(flags) for on in compiled.device_on]
    rows += [low(flags) for low in compiled.device_low]
    if not rows:
        return np.zeros((0, columns), dtype=bool)
    return np.stack([np.broadcast_to(row, (columns,)) for row in rows])


def watched_volts(compiled: Compiled, solution: Solution) -> Array:
    """Volts across each sense and then each bolt, signed."""
    shape = compiled.shape
    rows = [solution.volts[s.a] - solution.volts[s.b] for s in (*shape.senses, *shape.bolts)]
    return np.stack(rows) if rows else np.zeros((0, len(solution.solved)))


class _Moving:
    """The columns still moving, and what they carry while they do."""

    def __init__(self, batch: Batch, state: State) -> None:
        self.batch = batch
        self.flags = state.flags.copy()
        self.bolts = state.bolts.copy()
        self.left_s = state.left_s.copy()
        self.started = state.started.copy()

    def logic(self, speed: Speed, watched: Array, allowed: Bools) -> Bools:
        """Move the flags of one class to rest in the ``allowed`` columns; which changed."""
        compiled, values = self.batch.compiled, self.batch.values
        before = self.flags.copy()
        for _ in range(MOST_PASSES):
            last = self.flags.copy()
            self._senses(compiled, values, speed, watched, allowed)
            for flag, when, its in compiled.rules:
                if its == speed:
                    self._set(flag, when(self.flags), allowed)
            for flag, set_by, reset_by, its in compiled.latches:
                if its == speed:
                    now = (self.flags[flag] | set_by(self.flags)) & ~reset_by(self.flags)
                    self._set(flag, now, allowed)
            if speed == Speed.CONTROLLER:
                self._timers(compiled, values, allowed)
            if (last == self.flags).all():
                break
        changed: Bools = (before != self.flags).any(axis=0)
        return changed

    def _set(self, flag: int, now: Bools, allowed: Bools) -> None:
        self.flags[flag] = np.where(allowed, now, self.flags[flag])

    def _senses(
        self, compiled: Compiled, values: Values, speed: Speed, watched: Array, allowed: Bools
    ) -> None:
        for n, sense in enumerate(compiled.shape.senses):
            if sense.speed != speed:
                continue
            volts = np.abs(watched[n]) if sense.either_way else watched[n]
            need = np.where(self.flags[sense.flag], values.sense_off_v[n], values.sense_on_v[n])
            self._set(sense.flag, (volts >= need) & compiled.sense_needs[n](self.flags), allowed)

    def _timers(self, compiled: Compiled, values: Values, allowed: Bools) -> None:
        for n, (flag, start, clear, on_rise) in enumerate(compiled.timers):
            begun = np.broadcast_to(start(self.flags), allowed.shape)
            was, left = self.started[n], self.left_s[n]
            fresh = (begun & ~was) if on_rise else (was & ~begun)
            left = np.where(fresh, values.timer_s[n], left)
            if not on_rise:
                left = np.where(begun, 0.0, left)
            stop = clear(self.flags)
            left = np.where(stop, 0.0, left)
            running = left > 0.0
            if not on_rise:
                running = running | (begun & ~stop)
            self.left_s[n] = np.where(allowed, left, self.left_s[n])
            self.started[n] = np.where(allowed, begun, was)
            self._set(flag, running, allowed)

    def locks(self, watched: Array, allowed: Bools) -> Bools:
        """Move bolts by their four thresholds; which columns changed."""
        compiled, values = self.batch.compiled, self.batch.values
        first = len(compiled.shape.senses)
        changed = np.zeros(self.batch.columns, dtype=bool)
        for n, bolt in enumerate(compiled.shape.bolts):
            volts = np.abs(watched[first + n]) if bolt.either_way else watched[first + n]
            volts = np.where(compiled.bolt_needs[n](self.flags), volts, 0.0)
            new = bolt_position(self.bolts[n], volts, values.bolt_v[4 * n : 4 * n + 4])
            new = np.where(allowed, new, self.bolts[n]).astype(np.int8)
            changed |= new != self.bolts[n]
            self.bolts[n] = new
            held = np.where(new == MARGINAL, self.flags[bolt.flag], new == PICKED)
            self._set(bolt.flag, held, allowed)
        return changed

    def fuses(self, solution: Solution, allowed: Bools) -> Bools:
        """Blow at most one fuse a column, the worst first; reset polymers; which changed."""
        compiled, values = self.batch.compiled, self.batch.values
        changed = np.zeros(self.batch.columns, dtype=bool)
        worst = np.ones(self.batch.columns)
        which = np.full(self.batch.columns, -1)
        for n, (branch, blown, resets) in enumerate(compiled.shape.fuses):
            a, b, _ = compiled.shape.linear[branch]
            across = np.abs(solution.volts[a] - solution.volts[b])
            whole = ~self.flags[blown]
            ratio = across / values.ohm[branch] / values.fuse_blows_a[n]
            worse = whole & (ratio > worst) & allowed
            worst = np.where(worse, ratio, worst)
            which = np.where(worse, blown, which)
            if resets:
                back = ~whole & (across < POLYMER_BACK_V) & allowed
                self.flags[blown] = self.flags[blown] & ~back
                changed |= back
        for _, blown, _ in compiled.shape.fuses:
            hit = which == blown
            self.flags[blown] |= hit
            changed |= hit
        return changed

    def take(self, chosen: NDArray[np.intp]) -> None:
        self.batch = self.batch.take(chosen)
        self.flags = self.flags[:, chosen]
        self.bolts = self.bolts[:, chosen]
        self.left_s = self.left_s[:, chosen]
        self.started = self.started[:, chosen]

    def key(self, weights: NDArray[np.uint64]) -> NDArray[np.uint64]:
        """A number for the whole state of each column."""
        whole = np.concatenate(
            [self.flags, self.started, self.left_s > 0.0, self.bolts == 1, self.bolts == 2]
        )
        result: NDArray[np.uint64] = weights[: len(whole)] @ whole.astype(np.uint64)
        return result


def bolt_position(now: NDArray[np.int8], volts: Row, thresholds: Array) -> NDArray[np.int8]:
    """Where a bolt is at ``volts`` after ``now``, by its four thresholds."""
    may_pick, surely_pick, surely_hold, surely_release = thresholds
    stays_out = np.where(volts < may_pick, DROPPED, MARGINAL)
    stays_in = np.where(volts >= surely_hold, PICKED, MARGINAL)
    undecided = np.full(volts.shape, MARGINAL)
    between = np.where(now == PICKED, stays_in, np.where(now == DROPPED, stays_out, undecided))
    up = (volts >= surely_pick) & (now != PICKED)
    down = (volts < surely_release) & (now != DROPPED)
    moved = np.where(up, PICKED, np.where(down, DROPPED, between))
    return moved.astype(np.int8)


_WEIGHTS = np.random.Generator(np.random.PCG64(20)).integers(1, 2**63, size=4096, dtype=np.uint64)


class _Reached:
    """What settling has reached so far, for every column."""

    def __init__(self, batch: Batch, state: State) -> None:
        shape, columns = batch.compiled.shape, batch.columns
        watched = len(shape.senses) + len(shape.bolts)
        self.flags, self.bolts = state.flags.copy(), state.bolts.copy()
        self.left_s, self.started = state.left_s.copy(), state.started.copy()
        self.low = np.full((watched, columns), np.inf)
        self.high = np.full((watched, columns), -np.inf)
        self.flips = np.zeros((shape.flags, columns), dtype=bool)
        self.chatter = np.zeros(columns, dtype=bool)
        self.solved = np.ones(columns, dtype=bool)
        self.volts: Array = np.zeros((shape.nodes, columns))
        self.device_v = [np.zeros(columns) for _ in shape.devices]
        self.regions = [np.zeros(columns, dtype=np.int8) for _ in shape.devices]
        self.cycle_left = np.full(columns, -1)

    def keep(self, moving: _Moving, solution: Solution, done: Bools, at: NDArray[np.intp]) -> None:
        """Write down the columns ``at``, which are the ``done`` ones of ``moving``."""
        self.flags[:, at] = moving.flags[:, done]
        self.bolts[:, at] = moving.bolts[:, done]
        self.left_s[:, at] = moving.left_s[:, done]
        self.started[:, at] = moving.started[:, done]
        self.solved[at] = solution.solved[done]
        self.volts[:, at] = np.stack(solution.volts)[:, done]
        for kept, row in zip(self.device_v, solution.device_volts, strict=True):
            kept[at] = row[done]
        for region, now in zip(self.regions, solution.regions, strict=True):
            region[at] = now[done]

    def come_back(
        self,
        key: NDArray[np.uint64],
        history: list[NDArray[np.uint64]],
        wants: Bools,
        where: NDArray[np.intp],
    ) -> None:
        """Mark columns whose whole state was there before: chatter, and how long its cycle is."""
        for back, earlier in enumerate(reversed(history), start=1):
            again = (earlier == key) & wants & ~self.chatter[where]
            self.cycle_left[where] = np.where(again, back, self.cycle_left[where])
            self.chatter[where] |= again

    def end(self) -> tuple[State, Point]:
        """The state and the point."""
        start = Start(tuple(self.device_v), tuple(self.regions))
        point = Point(
            self.volts,
            self.flags,
            self.bolts,
            self.low,
            self.high,
            self.flips,
            self.chatter,
            self.solved,
            start,
        )
        return State(self.flags, self.bolts, self.left_s, self.started, start), point


def settle(batch: Batch, state: State, work: Work | None = None) -> tuple[State, Point]:
    """Bring every column to rest with no time passing.

    Returns the new state and the point reached; columns that never rest are marked as chatter,
    and their flags that flip are found by going once more round the cycle.
    """
    reached = _Reached(batch, state)
    moving = _Moving(batch, state)
    where = np.arange(batch.columns)
    start = state.start
    history: list[NDArray[np.uint64]] = []
    for round_ in range(MOST_ROUNDS):
        solution = solve_at(moving.batch, moving.flags, start, work)
        start = Start(solution.device_volts, solution.regions)
        watched = watched_volts(batch.compiled, solution)
        reached.low[:, where] = np.minimum(reached.low[:, where], watched)
        reached.high[:, where] = np.maximum(reached.high[:, where], watched)
        before = moving.flags.copy()
        wants = _move_fastest(moving, solution, watched)
        circling = reached.cycle_left[where] > 0
        reached.flips[:, where] |= (before != moving.flags) & circling
        reached.cycle_left[where] -= circling
        if wants.any():
            key = moving.key(_WEIGHTS)
            reached.come_back(key, history, wants, where)
            history.append(key)
        if round_ == MOST_ROUNDS - 1:
            reached.chatter[where] |= wants
            wants = np.zeros(len(where), dtype=bool)
        done = ~wants | (reached.chatter[where] & (reached.cycle_left[where] == 0))
        if done.any():
            reached.keep(moving, solution, done, where[done])
        if done.all():
            break
        if done.any():
            going = np.flatnonzero(~done)
            moving.take(going)
            where = where[going]
            history = [row[going] for row in history]
            start = Start(
                tuple(v[going] for v in start.volts), tuple(r[going] for r in start.regions)
            )
    return reached.end()


def _move_fastest(moving: _Moving, solution: Solution, watched: Array) -> Bools:
    """In each column let the fastest class that wants to move do so; which columns moved so that
    the circuit must be solved again."""
    compiled, columns = moving.batch.compiled, moving.batch.columns
    gates = gate_bits(compiled, moving.flags, columns)
    again = np.zeros(columns, dtype=bool)
    allowed = np.ones(columns, dtype=bool)
    for _ in range(MOST_PASSES):
        moved = np.zeros(columns, dtype=bool)
        for speed in Speed:
            if speed == Speed.FUSE:
                changed = moving.fuses(solution, allowed)
            else:
                changed = moving.logic(speed, watched, allowed)
                if speed == Speed.LOCK:
                    changed |= moving.locks(watched, allowed)
            if changed.any():
                moved |= changed
                switched = (gates != gate_bits(compiled, moving.flags, columns)).any(axis=0)
                again |= switched
                allowed = allowed & ~switched
                if not allowed.any():
                    return again
        if not moved.any():
            break
    else:
        again |= moved
    return again


def step(
    batch: Batch, state: State, seconds: float, work: Work | None = None
) -> tuple[State, Point]:
    """Bring ``state`` to rest, then let ``seconds`` pass, timer by timer.

    The inputs are already in ``state`` (see ``with_inputs``). The point is where it ends; least
    and most volts are over everything on the way.
    """
    state, point = settle(batch, state, work)
    if not batch.compiled.timers:
        return state, point
    left = np.full(batch.columns, seconds)
    while True:
        running = np.where(state.left_s > 0.0, state.left_s, np.inf)
        soonest = running.min(axis=0)
        jump = np.minimum(soonest, left)
        due = np.flatnonzero(soonest <= left)
        if len(due) == 0:
            return _aged(state, left), point
        aged = _aged(state.take(due), jump[due])
        left[due] -= jump[due]
        after, reached = settle(batch.take(due), _expired(batch.compiled, aged), work)
        state = _put(state, after, due)
        point = _put_point(point, reached, due)


def _aged(state: State, seconds: Array) -> State:
    left = np.where(state.left_s > 0.0, np.maximum(state.left_s - seconds, STEP_END), 0.0)
    return State(state.flags, state.bolts, left, state.started, state.start)


def _expired(compiled: Compiled, state: State) -> State:
    over = (state.left_s > 0.0) & (state.left_s <= STEP_END)
    left = np.where(over, 0.0, state.left_s)
    flags = state.flags.copy()
    for n, (flag, _, _, _) in enumerate(compiled.timers):
        flags[flag] &= ~over[n]
    return State(flags, state.bolts, left, state.started, state.start)


def _put(state: State, part: State, at: NDArray[np.intp]) -> State:
    flags, bolts = state.flags.copy(), state.bolts.copy()
    left, started = state.left_s.copy(), state.started.copy()
    flags[:, at], bolts[:, at] = part.flags, part.bolts
    left[:, at], started[:, at] = part.left_s, part.started
    return State(flags, bolts, left, started, _put_start(state.start, part.start, at))


def _put_start(start: Start | None, part: Start | None, at: NDArray[np.intp]) -> Start | None:
    if start is None or part is None:
        return part
    volts = [v.copy() for v in start.volts]
    regions = [r.copy() for r in start.regions]
    for whole, row in zip(volts, part.volts, strict=True):
        whole[at] = row
    for kept, region in zip(regions, part.regions, strict=True):
        kept[at] = region
    return Start(tuple(volts), tuple(regions))


def _put_point(point: Point, part: Point, at: NDArray[np.intp]) -> Point:
    volts, flags, bolts = point.volts.copy(), point.flags.copy(), point.bolts.copy()
    low, high = point.sense_low_v.copy(), point.sense_high_v.copy()
    flips, chatter, solved = point.flips.copy(), point.chatter.copy(), point.solved.copy()
    volts[:, at], flags[:, at], bolts[:, at] = part.volts, part.flags, part.bolts
    low[:, at] = np.minimum(low[:, at], part.sense_low_v)
    high[:, at] = np.maximum(high[:, at], part.sense_high_v)
    flips[:, at] |= part.flips
    chatter[at] |= part.chatter
    solved[at] &= part.solved
    start = _put_start(point.start, part.start, at)
    assert start is not None
    return Point(volts, flags, bolts, low, high, flips, chatter, solved, start)
