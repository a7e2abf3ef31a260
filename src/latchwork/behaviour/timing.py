"""Time: timers run out one after another, and everything comes to rest in between."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.compiled import passing_compiled
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import Array, Compiled
from latchwork.behaviour.state import Batch, Point, Rest, State
from latchwork.circuit import Start, Work

Kind = TypeVar("Kind", bound=np.generic)
STEP_END_S = 1e-9
"""A timer with no more than this left has run out."""
MOST_EXPIRIES = 24
"""Timers that start each other go on for ever: after so many expiries in one column, what still
changes is chatter, drawn out in time."""
STILL_CHATTERS = 3
"""A column that chatters at this many expiries on end goes on so: its clock is stopped."""
WATCHED_EXPIRIES = 8
"""Over the last of them, flags that change are noted."""


def step(
    batch: Batch, state: State, seconds: float, work: Work | None = None
) -> tuple[State, Point]:
    """Bring ``state`` to rest, then let ``seconds`` pass, timer by timer.

    The inputs are already in ``state`` (see ``with_inputs``). The point is where it ends; least
    and most volts are over everything on the way.
    """
    state, point = settle(batch, state, work)
    return passing(batch, state, point, seconds, work)


def passing(
    batch: Batch, state: State, point: Point, seconds: float, work: Work | None = None
) -> tuple[State, Point]:
    """Let ``seconds`` pass from ``state``, which rests at ``point``."""
    if not batch.compiled.timers:
        return state, point
    if work is not None and work.compiled and batch.members.packed is not None:
        return passing_compiled(batch, state, point, seconds, work)
    left = np.full(batch.columns, seconds)
    in_a_row = np.zeros(batch.columns, dtype=int)
    own = False
    for expiries in range(MOST_EXPIRIES + 1):
        running = np.where(state.left_s > 0.0, state.left_s, np.inf)
        soonest = running.min(axis=0)
        jump = np.minimum(soonest, left)
        due = np.flatnonzero((soonest <= left) & (in_a_row < STILL_CHATTERS))
        if len(due) == 0 or expiries == MOST_EXPIRIES:
            break
        aged = _aged(state.take(due), jump[due])
        left[due] -= jump[due]
        after, reached = settle(batch.take(due), _expired(batch.compiled, aged), work)
        if expiries >= MOST_EXPIRIES - WATCHED_EXPIRIES:
            flips = reached.flips | (state.flags[:, due] != after.flags)
            reached = replace(reached, flips=flips)
        in_a_row[due] = np.where(reached.chatter, in_a_row[due] + 1, 0)
        state, point = put_both((state, point), (after, reached), due, own=own)
        own = True
    if len(due):
        point.chatter[due] = True
    return _aged(state, left), point


def _aged(state: State, seconds: Array) -> State:
    left = np.where(state.left_s > 0.0, np.maximum(state.left_s - seconds, STEP_END_S), 0.0)
    return replace(state, left_s=left)


def _expired(compiled: Compiled, state: State) -> State:
    over = (state.left_s > 0.0) & (state.left_s <= STEP_END_S)
    left = np.where(over, 0.0, state.left_s)
    flags = state.flags.copy()
    for n, (flag, _, _, _) in enumerate(compiled.timers):
        flags[flag] &= ~over[n]
    return replace(state, flags=flags, left_s=left)


def put_both(
    whole: tuple[State, Point],
    part: tuple[State, Point],
    at: NDArray[np.intp],
    *,
    own: bool = False,
) -> tuple[State, Point]:
    """A state and the point at which it rests with the columns ``at`` replaced by those of
    ``part``; least and most volts over both; ``own``: in place."""
    point = _put_point(whole[1], part[1], at, own)
    return put(whole[0], part[0], at, own=own, volts=point.volts), point


def put(
    state: State,
    part: State,
    at: NDArray[np.intp],
    *,
    own: bool = False,
    volts: Array | None = None,
) -> State:
    """``state`` with the columns ``at`` replaced by those of ``part``; ``own``: in place.
    ``volts``: of the nodes, where that was done already."""
    return State(
        _put(state.flags, part.flags, at, own),
        _put(state.bolts, part.bolts, at, own),
        _put(state.left_s, part.left_s, at, own),
        _put(state.started, part.started, at, own),
        _put_start(state.start, part.start, at, own),
        _put_rest(state.rest, part.rest, at, own, volts),
    )


def _put_rest(
    rest: Rest | None, part: Rest | None, at: NDArray[np.intp], own: bool, volts: Array | None
) -> Rest | None:
    if rest is None or part is None or rest.members is not part.members:
        return None
    curve = rest.curve
    if curve is not None and part.curve is not None:
        curve = _put(curve, part.curve, at, own)
    return Rest(
        rest.members,
        _put(rest.whose, part.whose, at, own),
        curve,
        _put(rest.gates, part.gates, at, own),
        _put(rest.volts, part.volts, at, own) if volts is None else volts,
        _put(rest.bonds, part.bonds, at, own),
        _put(rest.solved, part.solved, at, own),
    )


def _put(
    table: NDArray[Kind], part: NDArray[Kind], at: NDArray[np.intp], own: bool
) -> NDArray[Kind]:
    out = table if own else table.copy(order="K")
    out[..., at] = part
    return out


def _put_start(
    start: Start | None, part: Start | None, at: NDArray[np.intp], own: bool
) -> Start | None:
    if start is None or part is None:
        return part
    return Start(_put(start.volts, part.volts, at, own), _put(start.regions, part.regions, at, own))


def _put_point(point: Point, part: Point, at: NDArray[np.intp], own: bool) -> Point:
    start = _put_start(point.start, part.start, at, own)
    assert start is not None
    return Point(
        _put(point.volts, part.volts, at, own),
        _put(point.flags, part.flags, at, own),
        _put(point.bolts, part.bolts, at, own),
        _put(point.sense_low_v, np.minimum(point.sense_low_v[:, at], part.sense_low_v), at, own),
        _put(point.sense_high_v, np.maximum(point.sense_high_v[:, at], part.sense_high_v), at, own),
        _put(point.flips, point.flips[:, at] | part.flips, at, own),
        _put(point.chatter, point.chatter[at] | part.chatter, at, own),
        _put(point.solved, point.solved[at] & part.solved, at, own),
        _put(point.bonds, part.bonds, at, own),
        start,
    )
