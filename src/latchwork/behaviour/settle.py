"""Contacts by fixed point: solve, let the fastest class that wants to move do so, again.

The state of a column that came back with no time passing is chatter, unless a slower class
follows it and ends it. Volts are watched over every position visited, not only the last.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.answers import answer
from latchwork.behaviour.circles import Circles
from latchwork.behaviour.compiled import settle_compiled
from latchwork.behaviour.moves import WEIGHTS, Moving, move_fastest
from latchwork.behaviour.positions import Bools, gate_bits, watched_volts
from latchwork.behaviour.shape import Array
from latchwork.behaviour.state import Batch, Point, Rest, State
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
        self.bonds = np.zeros((watched, columns), dtype=np.int8)
        self.gates = np.zeros((batch.compiled.gate_count, columns), dtype=bool)
        self.device_v = np.zeros((len(shape.devices), columns))
        self.regions = np.zeros((len(shape.devices), columns), dtype=np.int8)
        self.circles = Circles(batch.compiled, columns)
        self.since = np.zeros(columns, dtype=np.intp)
        """From which round on a state that comes back counts."""

    def keep(
        self,
        moving: Moving,
        gates: Bools,
        solution: Solution,
        done: Bools,
        at: NDArray[np.intp],
    ) -> None:
        """Write down the columns ``at``, which are the ``done`` ones of ``moving``."""
        self.gates[:, at] = gates[:, done]
        self.flags[:, at] = moving.flags[:, done]
        self.bolts[:, at] = moving.bolts[:, done]
        self.left_s[:, at] = moving.left_s[:, done]
        self.started[:, at] = moving.started[:, done]
        self.solved[at] = solution.solved[done]
        self.volts[:, at] = solution.volts[:, done]
        self.bonds[:, at] = solution.bonds[:, done]
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

    def end(self, batch: Batch) -> tuple[State, Point]:
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
            self.bonds,
            start,
        )
        rest = Rest(
            batch.members,
            batch.whose,
            batch.curve,
            self.gates,
            self.volts,
            self.bonds,
            self.solved,
        )
        return State(self.flags, self.bolts, self.left_s, self.started, start, rest), point


def _solved(
    moving: Moving, gates: Bools, start: Start | None, rest: Rest | None, work: Work | None
) -> Solution:
    """The circuit solved in the positions of ``moving``; where it was in this very one when last
    it was solved (``rest``), its volts are known."""
    batch, flags = moving.batch, moving.flags
    if rest is None or start is None:
        return answer(batch, flags, gates, start, work)
    known = rest.holds_for(batch) & (gates == rest.gates).all(axis=0)
    if work is not None:
        work.known += int(known.sum())
    fresh = np.flatnonzero(~known)
    if len(fresh) == batch.columns:
        return answer(batch, flags, gates, start, work)
    volts, across, regions = rest.volts.copy(), start.volts.copy(), start.regions.copy()
    bonds = rest.bonds.copy()
    solved, steps = np.ones(batch.columns, dtype=bool), 0
    if len(fresh):
        its = flags.take(fresh, axis=1), gates.take(fresh, axis=1), start.take(fresh)
        part = answer(batch.take(fresh), *its, work)
        volts[:, fresh], solved[fresh], steps = part.volts, part.solved, part.steps
        across[:, fresh], regions[:, fresh] = part.device_volts, part.regions
        bonds[:, fresh] = part.bonds
    return Solution(volts, across, regions, solved, bonds, steps)


def settle(
    batch: Batch, state: State, work: Work | None = None, *, frozen: bool = False
) -> tuple[State, Point]:
    """Bring every column to rest with no time passing; ``frozen``: only locks and fuses move.

    Returns the new state and the point reached; columns that never rest are marked as chatter,
    with the flags that go round or may.
    """
    if work is not None and work.compiled and batch.members.packed is not None:
        return settle_compiled(batch, state, work, frozen=frozen)
    reached = _Reached(batch, state)
    circles = reached.circles
    moving = Moving(batch, state)
    where = np.arange(batch.columns)
    start, rest = state.start, state.rest
    history: list[NDArray[np.uint64]] = []
    for round_ in range(MOST_ROUNDS):
        gates = gate_bits(batch.compiled, moving.flags, len(where))
        solution = _solved(moving, gates, start, rest if round_ == 0 else None, work)
        start = Start(solution.device_volts, solution.regions)
        watched = watched_volts(batch.compiled, solution.volts, solution.bonds)
        reached.low[:, where] = np.minimum(reached.low[:, where], watched)
        reached.high[:, where] = np.maximum(reached.high[:, where], watched)
        watching = circles.left[where] > 0
        wishes = moving.wishes(solution, watched, frozen) if watching.any() else []
        heats = moving.heats(solution) if wishes else None
        before = moving.flags.copy(), moving.bolts.copy()
        wants = move_fastest(moving, gates, solution, watched, frozen)
        circles.note(where, before[0], moving.flags)
        if heats is not None:
            circles.watch(where, before, moving, wishes, heats)
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
            reached.keep(moving, gates, solution, done, where[done])
        if done.all():
            break
        if done.any():
            going = np.flatnonzero(~done)
            moving.take(going)
            where = where[going]
            history = [row[going] for row in history]
            start = start.take(going)
    return reached.end(batch)
