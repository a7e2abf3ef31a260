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
from latchwork.behaviour.moves import Moving, move_fastest
from latchwork.behaviour.positions import Bools, gate_bits, watched_volts
from latchwork.behaviour.shape import Array
from latchwork.behaviour.state import Batch, Point, Rest, State
from latchwork.circuit import Gathered, Solution, Start, Tables, Work, some

MOST_ROUNDS = 96


class _Reached:
    """What settling has reached so far."""

    def __init__(self, batch: Batch) -> None:
        columns = batch.columns
        self.flips = np.zeros((batch.compiled.shape.flags, columns), dtype=bool)
        self.chatter = np.zeros(columns, dtype=bool)
        self.circles = Circles(batch.compiled, columns)
        self.since = np.zeros(columns, dtype=np.intp)
        """From which round on a state that comes back counts."""
        self.columns = Gathered()

    def keep(
        self,
        moving: Moving,
        gates: Bools,
        solution: Solution,
        seen: tuple[Array, Array],
        done: Bools,
        where: NDArray[np.intp],
    ) -> None:
        """Keep what the ``done`` columns of ``moving``, which are ``where``, came to; ``seen``: the
        least and most volts on the way."""
        low, high = seen
        rows = {
            "gates": gates,
            "flags": moving.flags,
            "bolts": moving.bolts,
            "left_s": moving.left_s,
            "started": moving.started,
            "solved": solution.solved,
            "volts": solution.volts,
            "bonds": solution.bonds,
            "device_volts": solution.device_volts,
            "regions": solution.regions,
            "low": low,
            "high": high,
        }
        self.columns.keep_some(where, done, rows)

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
            if some(again):
                self.circles.begin(where[again], np.full(int(again.sum()), back))

    def end(self, batch: Batch) -> tuple[State, Point]:
        """The state and the point."""
        rows = self.columns.read()
        flags, bolts, volts, bonds = (rows[name] for name in ("flags", "bolts", "volts", "bonds"))
        start = Start(rows["device_volts"], rows["regions"])
        point = Point(
            volts,
            flags,
            bolts,
            rows["low"],
            rows["high"],
            self.flips,
            self.chatter,
            rows["solved"],
            bonds,
            start,
        )
        rest = Rest(
            batch.members,
            batch.whose,
            batch.curve,
            rows["gates"],
            volts,
            bonds,
            rows["solved"],
        )
        return State(flags, bolts, rows["left_s"], rows["started"], start, rest), point


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
    stood = np.flatnonzero(known)
    its = rest.take(stood), start.take(stood)
    columns = Gathered()
    columns.keep(stood, _rows(its[0].volts, its[1], its[0].solved, its[0].bonds))
    steps = 0
    if len(fresh):
        asked = flags.take(fresh, axis=1), gates.take(fresh, axis=1), start.take(fresh)
        part = answer(batch.take(fresh), *asked, work)
        steps = part.steps
        end = Start(part.device_volts, part.regions)
        columns.keep(fresh, _rows(part.volts, end, part.solved, part.bonds))
    return Solution(**columns.read(), steps=steps)


def _rows(volts: Array, start: Start, solved: Bools, bonds: NDArray[np.int8]) -> Tables:
    return {
        "volts": volts,
        "device_volts": start.volts,
        "regions": start.regions,
        "solved": solved,
        "bonds": bonds,
    }


def settle(
    batch: Batch, state: State, work: Work | None = None, *, frozen: bool = False
) -> tuple[State, Point]:
    """Bring every column to rest with no time passing; ``frozen``: only locks and fuses move.

    Returns the new state and the point reached; columns that never rest are marked as chatter,
    with the flags that go round or may.
    """
    if work is not None and work.compiled and batch.members.packed is not None:
        return settle_compiled(batch, state, work, frozen=frozen)
    reached = _Reached(batch)
    circles = reached.circles
    moving = Moving(batch, state)
    where = np.arange(batch.columns)
    start, rest = state.start, state.rest
    low = high = np.zeros((0, batch.columns))
    history: list[NDArray[np.uint64]] = []
    for round_ in range(MOST_ROUNDS):
        gates = gate_bits(batch.compiled, moving.flags, len(where))
        solution = _solved(moving, gates, start, rest if round_ == 0 else None, work)
        start = Start(solution.device_volts, solution.regions)
        watched = watched_volts(batch.compiled, solution.volts, solution.bonds)
        low = watched if round_ == 0 else np.minimum(low, watched)
        high = watched if round_ == 0 else np.maximum(high, watched)
        watching = circles.left[where] > 0
        seen = moving.look(solution, watched)
        wishes = moving.wishes(seen, frozen) if some(watching) else []
        heats = moving.heats(solution) if wishes else None
        before = moving.flags.copy(), moving.bolts.copy()
        wants = move_fastest(moving, gates, seen, frozen)
        circles.note(where, before[0], moving.flags)
        if heats is not None:
            circles.watch(where, before, moving, wishes, heats)
            round_over = np.flatnonzero(watching & (circles.left[where] == 0))
            followed = circles.follow(where[round_over], moving, round_over)
            reached.since[where[round_over]] = len(history)
            restless = where[round_over[~followed]]
            reached.chatter[restless] = True
            reached.flips[:, restless] = circles.flips(restless)
        if some(wants):
            key = moving.key()
            reached.come_back(key, history, wants & ~reached.chatter[where], where)
            history.append(key)
        if round_ == MOST_ROUNDS - 1:
            reached.chatter[where] |= wants
        done = ~wants | reached.chatter[where]
        if some(done):
            reached.keep(moving, gates, solution, (low, high), done, where)
        if done.all():
            break
        if some(done):
            going = np.flatnonzero(~done)
            moving.take(going)
            where = where[going]
            history = [row[going] for row in history]
            start = start.take(going)
            low, high = low.take(going, axis=1), high.take(going, axis=1)
    return reached.end(batch)
