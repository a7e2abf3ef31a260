"""Contacts by fixed point: solve, let the fastest class that wants to move do so, again.

The state of a column that came back with no time passing is chatter, unless a slower class
follows it and ends it. Volts are watched over every position visited, not only the last.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.circles import Circles
from latchwork.behaviour.compiled import settle_compiled
from latchwork.behaviour.moves import WEIGHTS, Moving, move_fastest
from latchwork.behaviour.positions import Bools, solve_at, watched_volts
from latchwork.behaviour.shape import Array
from latchwork.behaviour.state import Batch, Point, State
from latchwork.circuit import Solution, Start, Work

MOST_ROUNDS = 96


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
        self.device_v = np.zeros((len(shape.devices), columns))
        self.regions = np.zeros((len(shape.devices), columns), dtype=np.int8)
        self.circles = Circles(batch.compiled, columns)
        self.since = np.zeros(columns, dtype=np.intp)
        """From which round on a state that comes back counts."""

    def keep(self, moving: Moving, solution: Solution, done: Bools, at: NDArray[np.intp]) -> None:
        """Write down the columns ``at``, which are the ``done`` ones of ``moving``."""
        self.flags[:, at] = moving.flags[:, done]
        self.bolts[:, at] = moving.bolts[:, done]
        self.left_s[:, at] = moving.left_s[:, done]
        self.started[:, at] = moving.started[:, done]
        self.solved[at] = solution.solved[done]
        self.volts[:, at] = solution.volts[:, done]
        self.device_v[:, at] = solution.device_volts[:, done]
        self.regions[:, at] = solution.regions[:, done]

    def come_back(
        self,
        key: NDArray[np.uint64],
        history: list[NDArray[np.uint64]],
        wants: Bools,
        where: NDArray[np.intp],
    ) -> None:
        """Begin to watch the columns whose whole state was there before."""
        for back, earlier in enumerate(reversed(history), start=1):
            again = (earlier == key) & wants & (self.circles.left[where] == 0)
            again &= len(history) - back >= self.since[where]
            if again.any():
                self.circles.begin(where[again], np.full(int(again.sum()), back))

    def end(self) -> tuple[State, Point]:
        """The state and the point."""
        start = Start(self.device_v, self.regions)
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
    with the flags that go round or may.
    """
    if work is not None and work.compiled:
        return settle_compiled(batch, state, work, frozen=frozen)
    reached = _Reached(batch, state)
    circles = reached.circles
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
        watching = circles.left[where] > 0
        wishes = moving.wishes(solution, watched, frozen) if watching.any() else []
        before = moving.flags.copy(), moving.bolts.copy()
        wants = move_fastest(moving, solution, watched, frozen)
        circles.note(where, before[0], moving.flags)
        if wishes:
            circles.watch(where, before, moving, wishes)
            round_over = np.flatnonzero(watching & (circles.left[where] == 0))
            followed = circles.follow(where[round_over], moving, round_over)
            reached.since[where[round_over]] = len(history)
            restless = where[round_over[~followed]]
            reached.chatter[restless] = True
            reached.flips[:, restless] = circles.flips(restless)
        if wants.any():
            key = moving.key(WEIGHTS)
            reached.come_back(key, history, wants & ~reached.chatter[where], where)
            history.append(key)
        if round_ == MOST_ROUNDS - 1:
            reached.chatter[where] |= wants
        done = ~wants | reached.chatter[where]
        if done.any():
            reached.keep(moving, solution, done, where[done])
        if done.all():
            break
        if done.any():
            going = np.flatnonzero(~done)
            moving.take(going)
            where = where[going]
            history = [row[going] for row in history]
            start = start.take(going)
    return reached.end()
