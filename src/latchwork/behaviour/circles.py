"""States that come back with no time passing: one round of the circle is watched.

What goes round keeps the slower classes from their turn. They follow it only where every moment
of the circle sends them the same way; a fuse heats on average, each moment taken to last alike.
Where nothing follows, it is chatter. One that follows may end the circle, let go and find it going
again: where it follows from the same state a second time, that is chatter as well.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.moves import SLOWER, Moving, Wish
from latchwork.behaviour.positions import Bools
from latchwork.behaviour.shape import Compiled

Marks = NDArray[np.int8]
"""Flags, and then bolts, of each column."""


def _marks(flags: Bools, bolts: NDArray[np.int8]) -> Marks:
    return np.concatenate([flags.astype(np.int8), bolts])


@dataclass(frozen=True, slots=True)
class _Epoch:
    """The time since a slower class followed: in which columns, into which state, what moved."""

    there: Bools
    key: NDArray[np.uint64]
    moved: Bools


class Circles:
    """The circles of all columns of one settling."""

    def __init__(self, compiled: Compiled, columns: int) -> None:
        self._flags = compiled.shape.flags
        self._bolt_flags = [bolt.flag for bolt in compiled.shape.bolts]
        size = (self._flags + len(self._bolt_flags), columns)
        self.left = np.zeros(columns, dtype=np.intp)
        """Rounds of the circle still to be watched."""
        self._fresh = np.zeros(columns, dtype=bool)
        self._moved = np.zeros(size, dtype=bool)
        self._tempted = np.zeros(size, dtype=bool)
        self._agreed = [np.zeros(size, dtype=bool) for _ in SLOWER]
        self._target = [np.zeros(size, dtype=np.int8) for _ in SLOWER]
        self._blown = np.array([blown for _, blown, _ in compiled.shape.fuses], dtype=np.intp)
        self._heat = np.zeros((len(self._blown), columns))
        self._rounds = np.zeros(columns, dtype=np.intp)
        self._epochs: list[_Epoch] = []

    def begin(self, at: NDArray[np.intp], rounds: NDArray[np.intp]) -> None:
        """Watch the columns ``at``, whose states come back after so many rounds."""
        self.left[at] = rounds
        self._rounds[at] = rounds
        self._heat[:, at] = 0.0
        self._fresh[at] = True
        self._moved[:, at] = False
        self._tempted[:, at] = False

    def watch(
        self,
        at: NDArray[np.intp],
        before: Wish,
        after: Moving,
        wishes: list[Wish],
        heats: NDArray[np.float64],
    ) -> None:
        """Note one round of the columns ``at`` that are watched: what moved, what each slower
        class would have done at that moment, and how fuses heat."""
        on = np.flatnonzero(self.left[at] > 0)
        columns = at[on]
        now = _marks(*before)[:, on]
        self._moved[:, columns] |= now != _marks(after.flags, after.bolts)[:, on]
        first = self._fresh[columns]
        for n, wish in enumerate(wishes):
            marks = _marks(*wish)[:, on]
            self._tempted[:, columns] |= marks != now
            self._target[n][:, columns] = np.where(first, marks, self._target[n][:, columns])
            same = marks == self._target[n][:, columns]
            self._agreed[n][:, columns] = same & (first | self._agreed[n][:, columns])
        self._heat[:, columns] += heats[:, on]
        self._fresh[columns] = False
        self.left[columns] -= 1

    def note(self, at: NDArray[np.intp], before: Bools, after: Bools) -> None:
        """Note which flags of the columns ``at`` moved in a round."""
        if self._epochs:
            self._epochs[-1].moved[:, at] |= before != after

    def follow(self, at: NDArray[np.intp], moving: Moving, on: NDArray[np.intp]) -> Bools:
        """Let the fastest of the slower classes that can follow do so, in the columns ``on`` of
        ``moving`` (``at`` of all), whose circle has been watched; in which columns one did, not
        having done so from the same state before."""
        now = _marks(moving.flags, moving.bolts)[:, on]
        followed = np.zeros(len(on), dtype=bool)
        for target, agreed in zip(self._target, self._agreed, strict=True):
            goal = target[:, at]
            go = agreed[:, at] & ~self._moved[:, at] & (goal != now) & ~followed
            now = np.where(go, goal, now)
            followed |= go.any(axis=0)
        melts = self._melts(at, now) & ~followed
        now[self._blown] |= melts
        followed |= melts.any(axis=0)
        moving.flags[:, on] = now[: self._flags] == 1
        moving.bolts[:, on] = now[self._flags :]
        if followed.any():
            followed &= ~self._followed_before(at, moving.key()[on], followed)
        return followed

    def _melts(self, at: NDArray[np.intp], now: Marks) -> Bools:
        """The fuse that the circle heats most, if it is too much: fuses x columns."""
        mean = self._heat[:, at] / self._rounds[at]
        held = (now[self._blown] == 1) | self._moved[self._blown][:, at]
        mean = np.where(held, 0.0, mean)
        out = np.zeros(mean.shape, dtype=bool)
        if len(mean):
            out[mean.argmax(axis=0), np.arange(mean.shape[1])] = mean.max(axis=0) > 1.0
        return out

    def _followed_before(
        self, at: NDArray[np.intp], key: NDArray[np.uint64], followed: Bools
    ) -> Bools:
        """Which of the columns ``at`` followed into this very state before; else remember it."""
        before = np.zeros(len(at), dtype=bool)
        moved = np.zeros((self._flags, len(at)), dtype=bool)
        for epoch in reversed(self._epochs):
            moved |= epoch.moved[:, at] & ~before
            before |= epoch.there[at] & (epoch.key[at] == key) & followed
        self._moved[: self._flags, at] |= moved & before
        columns = self.left.shape
        there, keys = np.zeros(columns, dtype=bool), np.zeros(columns, dtype=np.uint64)
        there[at], keys[at] = followed & ~before, key
        self._epochs.append(_Epoch(there, keys, np.zeros((self._flags, *columns), dtype=bool)))
        return before

    def flips(self, at: NDArray[np.intp]) -> Bools:
        """The flags of the columns ``at`` that go round, or that some moments of the circle but
        not all would move."""
        restless = self._moved[:, at] | self._tempted[:, at]
        flips = restless[: self._flags].copy()
        for n, flag in enumerate(self._bolt_flags):
            flips[flag] |= restless[self._flags + n]
        return flips
