"""The state a network is in: flags, bolts, timers, and where the solver left off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.shape import Array, Compiled, Values
from latchwork.circuit import Row, Start, columns_of

if TYPE_CHECKING:
    from latchwork.behaviour.packed import Packed

DROPPED, MARGINAL, PICKED = 0, 1, 2
Answer = tuple[Array, Array, NDArray[np.int8], NDArray[np.int8], NDArray[np.bool_]]
"""The solution of one column: volts by node, volts and regions by device, bonds, whether it is
one."""


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

    def over(self, now: NDArray[np.bool_], feed: NDArray[np.bool_] | None) -> NDArray[np.bool_]:
        """What the flag is where it would be ``now``; ``feed``: what that flag is."""
        to = self.to if feed is None else self.to & (feed | ~self.fed)
        held: NDArray[np.bool_] = (to & self.there) | (now & ~self.there)
        return held


@dataclass(frozen=True, eq=False)
class Members:
    """Networks of one shape, each with its numbers (things x members, or one column that stands
    for all of them), what is stuck in it (by flag), and curves that it may have (rows x points;
    None: ``values`` holds each member's own)."""

    compiled: Compiled
    values: Values
    count: int
    forced: Mapping[int, Forced] = field(default_factory=dict)
    curves: Array | None = None
    answers: dict[bytes, Answer] = field(default_factory=dict)
    """What circuits of theirs answered before, by all that it hangs on."""

    @cached_property
    def siemens(self) -> Array:
        """Of each linear branch, by member (or one column for all); nothing where it is apart."""
        return 1.0 / self.values.ohm

    @cached_property
    def conducts(self) -> NDArray[np.bool_]:
        """Whether each linear branch conducts at all, where it is not switched off."""
        return self.siemens > 0.0

    @cached_property
    def packed(self) -> Packed | None:
        """The same as arrays for compiled code; None where it cannot take them."""
        from latchwork.behaviour.packed import packed

        return packed(self)


@dataclass(frozen=True, eq=False)
class Batch:
    """Columns of what-ifs: whose each of them is, and which curve it has.

    Columns of one member stand together. ``member`` None: column n is member n's.
    """

    members: Members
    columns: int
    member: NDArray[np.intp] | None = None
    curve: NDArray[np.intp] | None = None

    @classmethod
    def of(cls, compiled: Compiled, values: Values, columns: int) -> Batch:
        """A batch of columns that have their numbers each (or all the same)."""
        return cls(Members(compiled, values, columns), columns)

    @property
    def compiled(self) -> Compiled:
        """The shape of all of them."""
        return self.members.compiled

    @cached_property
    def values(self) -> Values:
        """The numbers by column; of ohms, which are many, see ``siemens`` and ``ohm``."""
        values = self.members.values
        if self.member is not None:
            values = take_values(replace(values, ohm=values.ohm[:0]), self.member)
        if self.curve is not None:
            assert self.members.curves is not None
            values = replace(values, curve_a=self.members.curves[self.curve].T)
        return values

    def siemens(self) -> list[Row | None]:
        """Of each linear branch by column; None where it conducts in none of them."""
        table, conducts = self.members.siemens, self.members.conducts
        if self.member is None or table.shape[1] == 1:
            rows = zip(table, conducts, strict=True)
            return [row if there.any() else None for row, there in rows]
        some = np.zeros(self.members.count, dtype=bool)
        some[self.member] = True
        found: list[Row | None] = [None] * len(table)
        for n in np.flatnonzero(conducts[:, some].any(axis=1)).tolist():
            found[n] = table[n].take(self.member)
        return found

    def ohm(self, branch: int) -> Row:
        """Of one linear branch by column."""
        row: Row = self.members.values.ohm[branch]
        return row if self.member is None or len(row) == 1 else row.take(self.member)

    @cached_property
    def forced(self) -> Mapping[int, Forced]:
        """By flag: where it is stuck, whatever its rule says."""
        if self.member is None:
            return self.members.forced
        return {flag: stuck.take(self.member) for flag, stuck in self.members.forced.items()}

    @cached_property
    def whose(self) -> NDArray[np.intp]:
        """Whose each column is."""
        return np.arange(self.columns) if self.member is None else self.member

    def take(self, chosen: NDArray[np.intp]) -> Batch:
        """The batch of the chosen columns, which may repeat."""
        return Batch(
            self.members,
            len(chosen),
            chosen if self.member is None else self.member[chosen],
            None if self.curve is None else self.curve[chosen],
        )


@dataclass(frozen=True, slots=True)
class Rest:
    """Where the circuit was last solved: whose numbers and which curve each column had, what the
    gates were; the volts of the nodes, what joined watched ends, whether that was a solution.

    ``at``: which columns of ``table`` the volts are (None: all), as they are seldom asked for."""

    members: Members
    whose: NDArray[np.intp]
    curve: NDArray[np.intp] | None
    gates: NDArray[np.bool_]
    table: Array
    bonds: NDArray[np.int8]
    solved: NDArray[np.bool_]
    at: NDArray[np.intp] | None = None

    @property
    def volts(self) -> Array:
        """Of the nodes, by column."""
        return self.table if self.at is None else columns_of(self.table, self.at)

    def take(self, chosen: NDArray[np.intp]) -> Rest:
        """The same of the chosen columns, which may repeat."""
        return Rest(
            self.members,
            self.whose[chosen],
            None if self.curve is None else self.curve[chosen],
            columns_of(self.gates, chosen),
            self.table,
            columns_of(self.bonds, chosen),
            self.solved[chosen],
            chosen if self.at is None else self.at[chosen],
        )

    def holds_for(self, batch: Batch) -> NDArray[np.bool_]:
        """The columns of ``batch`` whose volts these are, as long as the gates are the same."""
        if self.members is not batch.members:
            return np.zeros(batch.columns, dtype=bool)
        found: NDArray[np.bool_] = self.solved & (self.whose == batch.whose)
        if self.curve is not None and batch.curve is not None:
            found &= self.curve == batch.curve
        return found


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
    rest: Rest | None = None

    def take(self, chosen: NDArray[np.intp]) -> State:
        """The state of the chosen columns, which may repeat."""
        return State(
            columns_of(self.flags, chosen),
            columns_of(self.bolts, chosen),
            columns_of(self.left_s, chosen),
            columns_of(self.started, chosen),
            self.start and self.start.take(chosen),
            self.rest and self.rest.take(chosen),
        )


@dataclass(frozen=True, slots=True)
class Point:
    """A network at rest (or not), by columns.

    ``volts`` by node; ``sense_low_v``/``sense_high_v`` the least and most volts over the
    positions visited, for the senses and then the bolts. ``flips``: flags that never come to
    rest. ``chatter``: the whole state came back with no time passing. ``solved`` False: the
    solver did not come to rest. ``bonds``: what joins the ends of the senses and then the bolts
    (see ``Solution``).
    """

    volts: Array
    flags: NDArray[np.bool_]
    bolts: NDArray[np.int8]
    sense_low_v: Array
    sense_high_v: Array
    flips: NDArray[np.bool_]
    chatter: NDArray[np.bool_]
    solved: NDArray[np.bool_]
    bonds: NDArray[np.int8]
    start: Start


def take_values(values: Values, chosen: NDArray[np.intp]) -> Values:
    """``values`` for the chosen columns; what stands for every column as one stays as it is."""
    taken = {}
    for item in fields(Values):
        row = getattr(values, item.name)
        whole = item.name == "curve_v" or row.shape[1] == 1
        taken[item.name] = row if whole else row.take(chosen, axis=1)
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
    flags = state.flags.copy(order="K")
    for flag, value in inputs.items():
        flags[flag] = value
    return replace(state, flags=flags)
