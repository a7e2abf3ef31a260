"""The state a network is in: flags, bolts, timers, and where the solver left off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.shape import Array, Compiled, Values
from latchwork.circuit import Start

DROPPED, MARGINAL, PICKED = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Forced:
    """A flag that is stuck, by column: where (``there``), at what (``to``), and where it lets go
    without another flag, such as power (``fed``; ``feed`` is that flag's number)."""

    there: NDArray[np.bool_]
    to: NDArray[np.bool_]
    fed: NDArray[np.bool_]
    feed: int | None = None

    def take(self, chosen: NDArray[np.intp]) -> Forced:
        """The same for the chosen columns, which may repeat."""
        return Forced(self.there[chosen], self.to[chosen], self.fed[chosen], self.feed)

    def over(self, now: NDArray[np.bool_], flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """What the flag is where it would be ``now``."""
        to = self.to if self.feed is None else self.to & (flags[self.feed] | ~self.fed)
        held: NDArray[np.bool_] = np.where(self.there, to, now)
        return held


@dataclass(frozen=True, slots=True)
class Batch:
    """Columns of what-ifs over networks of one shape."""

    compiled: Compiled
    values: Values
    columns: int
    forced: Mapping[int, Forced] = field(default_factory=dict)
    """By flag: where it is stuck, whatever its rule says."""

    def take(self, chosen: NDArray[np.intp]) -> Batch:
        """The batch of the chosen columns, which may repeat."""
        forced = {flag: stuck.take(chosen) for flag, stuck in self.forced.items()}
        return Batch(self.compiled, take_values(self.values, chosen), len(chosen), forced)


@dataclass(frozen=True, slots=True)
class State:
    """What a network remembers, by columns. Never changed in place."""

    flags: NDArray[np.bool_]
    bolts: NDArray[np.int8]
    left_s: Array
    """Seconds each timer still runs; 0 when it does not."""
    started: NDArray[np.bool_]
    """Whether each timer's start was true when last looked at."""
    start: Start | None

    def take(self, chosen: NDArray[np.intp]) -> State:
        """The state of the chosen columns, which may repeat."""
        start = self.start
        return State(
            self.flags[:, chosen],
            self.bolts[:, chosen],
            self.left_s[:, chosen],
            self.started[:, chosen],
            start
            and Start(
                tuple(v[chosen] for v in start.volts), tuple(r[chosen] for r in start.regions)
            ),
        )


@dataclass(frozen=True, slots=True)
class Point:
    """A network at rest (or not), by columns.

    ``volts`` by node; ``sense_low_v``/``sense_high_v`` the least and most volts over the
    positions visited, for the senses and then the bolts. ``flips``: flags that never come to
    rest. ``chatter``: the whole state came back with no time passing. ``solved`` False: the
    solver did not come to rest.
    """

    volts: Array
    flags: NDArray[np.bool_]
    bolts: NDArray[np.int8]
    sense_low_v: Array
    sense_high_v: Array
    flips: NDArray[np.bool_]
    chatter: NDArray[np.bool_]
    solved: NDArray[np.bool_]
    start: Start


def take_values(values: Values, chosen: NDArray[np.intp]) -> Values:
    """``values`` for the chosen columns; what stands for every column as one stays as it is."""
    taken = {}
    for item in fields(Values):
        row = getattr(values, item.name)
        whole = item.name == "curve_v" or row.shape[1] == 1
        taken[item.name] = row if whole else row[:, chosen]
    return Values(**taken)


def dead(compiled: Compiled, columns: int) -> State:
    """Nothing powered, nothing moved: inputs at rest, latches as they come."""
    shape = compiled.shape
    flags = np.zeros((shape.flags, columns), dtype=bool)
    for flag, rest in shape.rests:
        flags[flag] = rest
    return State(
        flags,
        np.zeros((len(shape.bolts), columns), dtype=np.int8),
        np.zeros((len(shape.timers), columns)),
        np.zeros((len(shape.timers), columns), dtype=bool),
        None,
    )


def with_inputs(state: State, inputs: Mapping[int, NDArray[np.bool_] | bool]) -> State:
    """``state`` with the given input flags set."""
    if not inputs:
        return state
    flags = state.flags.copy()
    for flag, value in inputs.items():
        flags[flag] = value
    return State(flags, state.bolts, state.left_s, state.started, state.start)
