"""Contacts by fixed point: solve, let the fastest class that wants to move do so, again.

The state of a column that came back with no time passing is chatter. Volts are watched over
every position visited, not only the last.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.moves import WEIGHTS, Moving, bolt_position, move_fastest
from latchwork.behaviour.positions import Bools, solve_at, watched_volts
from latchwork.behaviour.shape import Array
from latchwork.behaviour.state import MARGINAL, PICKED, Batch, Point, State
from latchwork.circuit import Solution, Start, Work

MOST_ROUNDS = 64


class _Reached:
    """What settling has reached so far, for every column."""

    def __init__(self, batch: Batch, state: State) -> None:
        shape, columns = batch.compiled.shape, batch.columns
        self.compiled, self.bolt_limits = batch.compiled, batch.values.bolt_v
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
        self.level = np.zeros(columns, dtype=bool)
        self.level_from = np.zeros(columns, dtype=np.intp)
        bolts = len(shape.bolts)
        self.cycle_low = np.full((bolts, columns), np.inf)
        self.cycle_high = np.zeros((bolts, columns))

    def keep(self, moving: Moving, solution: Solution, done: Bools, at: NDArray[np.intp]) -> None:
        """Write down the columns ``at``, which are the ``done`` ones of ``moving``."""
        self.flags[:, at] = moving.flags[:, done]
        self.bolts[:, at] = moving.bolts[:, done]
        self.left_s[:, at] = moving.left_s[:, done]
        self.started[:, at] = moving.started[:, done]
        self.solved[at] = solution.solved[done]
        self.volts[:, at] = solution.volts[:, done]
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
        """Look for columns whose whole state was there before.

        The first time, the class that goes round keeps the slower ones from ever moving: from
        then on all move at once. The second time it is chatter, with the length of its cycle.
        """
        for back, earlier in enumerate(reversed(history), start=1):
            since = len(history) - back >= self.level_from[where]
            again = (earlier == key) & wants & ~self.chatter[where] & since
            if not again.any():
                continue
            known = again & self.level[where]
            self.cycle_left[where] = np.where(known, back, self.cycle_left[where])
            self.chatter[where] |= known
            first = again & ~self.level[where]
            self.level_from[where] = np.where(first, len(history), self.level_from[where])
            self.level[where] |= first

    def circle(self, moving: Moving, watched: Array, at: NDArray[np.intp], circling: Bools) -> None:
        """Note the least and most volts of the bolts over one cycle of chatter."""
        volts = moving.bolt_volts(watched)
        low = np.where(circling, volts, np.inf)
        high = np.where(circling, volts, 0.0)
        self.cycle_low[:, at] = np.minimum(self.cycle_low[:, at], low)
        self.cycle_high[:, at] = np.maximum(self.cycle_high[:, at], high)

    def decide_bolts(self, at: NDArray[np.intp]) -> None:
        """Where the rest chatters, bolts go where every volt of the cycle sends them; one that
        the cycle sends both ways chatters as well."""
        for n, bolt in enumerate(self.compiled.shape.bolts):
            limits = self.bolt_limits[4 * n : 4 * n + 4]
            limits = limits if limits.shape[1] == 1 else limits[:, at]
            least = bolt_position(self.bolts[n, at], self.cycle_low[n, at], limits)
            most = bolt_position(self.bolts[n, at], self.cycle_high[n, at], limits)
            agree = least == most
            self.bolts[n, at] = np.where(agree, least, self.bolts[n, at])
            decided = agree & (least != MARGINAL)
            self.flags[bolt.flag, at] = np.where(
                decided, least == PICKED, self.flags[bolt.flag, at]
            )
            self.flips[bolt.flag, at] |= ~agree

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


def settle(
    batch: Batch, state: State, work: Work | None = None, *, frozen: bool = False
) -> tuple[State, Point]:
    """Bring every column to rest with no time passing; ``frozen``: only locks and fuses move.

    Returns the new state and the point reached; columns that never rest are marked as chatter,
    and their flags that flip are found by going once more round the cycle.
    """
    reached = _Reached(batch, state)
    moving = Moving(batch, state)
    where = np.arange(batch.columns)
    start = state.start
    history: list[NDArray[np.uint64]] = []
    for round_ in range(MOST_ROUNDS):
        solution = solve_at(moving.batch, moving.flags, start, work)
        start = Start(solution.device_volts, solution.regions)
        watched = watched_volts(batch.compiled, solution.volts)
        reached.low[:, where] = np.minimum(reached.low[:, where], watched)
        reached.high[:, where] = np.maximum(reached.high[:, where], watched)
        before = moving.flags.copy()
        wants = move_fastest(moving, solution, watched, frozen, reached.level[where])
        circling = reached.cycle_left[where] > 0
        reached.flips[:, where] |= (before != moving.flags) & circling
        reached.cycle_left[where] -= circling
        if circling.any():
            reached.circle(moving, watched, where, circling)
        if wants.any():
            key = moving.key(WEIGHTS)
            reached.come_back(key, history, wants, where)
            history.append(key)
        if round_ == MOST_ROUNDS - 1:
            reached.chatter[where] |= wants
            wants = np.zeros(len(where), dtype=bool)
        done = ~wants | (reached.chatter[where] & (reached.cycle_left[where] == 0))
        if done.any():
            reached.keep(moving, solution, done, where[done])
            restless = where[done & reached.chatter[where]]
            if len(restless):
                reached.decide_bolts(restless)
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
