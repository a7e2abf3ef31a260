"""The shape of a network: its topology and logic with numbers for names.

Doors that are wired alike have equal shapes, are compiled once and solved side by side; what
differs between them (lengths, ratings, thresholds) is in their ``Values``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.logic import Code, Evaluate, compiled
from latchwork.circuit import Order, Topology, order
from latchwork.elements import Speed

Array = NDArray[np.float64]

SOURCE, POWER_LOAD, CURRENT_LOAD, DIODE, CURVE = range(5)


@dataclass(frozen=True, slots=True)
class SenseShape:
    """A flag from volts: flag number, nodes, whether polarity is ignored, needs, speed."""

    flag: int
    a: int
    b: int
    either_way: bool
    needs: Code
    speed: int


@dataclass(frozen=True, slots=True)
class Shape:
    """Everything that like doors share. All tuples, so that shapes compare and hash."""

    nodes: int
    linear: tuple[tuple[int, int, Code], ...]
    """Resistances and contacts: nodes, and when they conduct."""
    rails: tuple[tuple[int, int, Code], ...]
    devices: tuple[tuple[int, int, int, Code, Code], ...]
    """Non-linear branches: kind, plus, minus, on, low (sources: when ``low_volt`` counts)."""
    fuses: tuple[tuple[int, int, bool], ...]
    """Linear branch, its blown flag, whether it resets."""
    flags: int
    rests: tuple[tuple[int, bool], ...]
    """Inputs and latches: flag and what it is in healthy idle or at power-up."""
    senses: tuple[SenseShape, ...]
    bolts: tuple[SenseShape, ...]
    rules: tuple[tuple[int, Code, int], ...]
    latches: tuple[tuple[int, Code, Code, int], ...]
    timers: tuple[tuple[int, Code, Code, bool], ...]
    """Flag, start, clear, whether it runs from the rise (else: while, and longer)."""
    apart: frozenset[int] = frozenset()
    """Which of the linear branches conduct only where a fault joins what is apart."""


@dataclass(frozen=True, slots=True)
class Values:
    """The numbers of one network in one case, or of many side by side (things x columns)."""

    ohm: Array
    rail_volt: Array
    rail_ohm: Array
    source_volt: Array
    source_low_volt: Array
    source_ohm: Array
    source_limit_a: Array
    source_fold_a: Array
    load_amount: Array
    load_floor_v: Array
    diode_a: Array
    diode_scale_v: Array
    fuse_blows_a: Array
    sense_on_v: Array
    sense_off_v: Array
    bolt_v: Array
    """Four rows a bolt: may pick, surely pick, surely hold, surely release."""
    timer_s: Array
    curve_v: Array = field(default_factory=lambda: np.zeros(0))
    curve_a: Array = field(default_factory=lambda: np.zeros((0, 1)))
    """Points x columns, of the one curve branch where there is one."""


def slim(values: Values) -> Values:
    """The same, with one column for numbers that are alike in all of them."""
    parts = {}
    for item in fields(Values):
        table = getattr(values, item.name)
        like = item.name != "curve_v" and (table == table[:, :1]).all()
        parts[item.name] = table[:, :1] if like else table
    return Values(**parts)


def stacked(values: Sequence[Values], columns: NDArray[np.intp]) -> Values:
    """The values of several networks of one shape, column c taking those of ``columns[c]``.

    A row that is the same for all of them is kept once (length-1 rows stand for every column).
    """
    if len(values) == 1:
        return values[0]
    parts = {}
    for item in fields(Values):
        if item.name == "curve_v":
            parts[item.name] = values[0].curve_v
            continue
        whole = np.concatenate([getattr(v, item.name) for v in values], axis=1)
        parts[item.name] = whole.take(columns, axis=1)
    return Values(**parts)


@dataclass(frozen=True, slots=True)
class Compiled:
    """A shape made ready to run."""

    shape: Shape
    order: Order
    gates: tuple[tuple[int, Evaluate], ...]
    """Linear branches that do not always conduct."""
    always: tuple[bool, ...]
    rail_on: tuple[Evaluate, ...]
    device_on: tuple[Evaluate, ...]
    device_low: tuple[Evaluate, ...]
    device_branches: tuple[tuple[int, int], ...]
    watched: tuple[NDArray[np.intp], NDArray[np.intp]]
    """The two nodes of each sense and then each bolt."""
    sense_needs: tuple[Evaluate, ...]
    bolt_needs: tuple[Evaluate, ...]
    rules: tuple[tuple[int, Evaluate, int], ...]
    latches: tuple[tuple[int, Evaluate, Evaluate, int], ...]
    timers: tuple[tuple[int, Evaluate, Evaluate, bool], ...]
    speeds: frozenset[int]
    """Of which there is logic; timers go with the fastest."""

    @property
    def every_gate(self) -> tuple[Evaluate, ...]:
        """What the circuit hangs on: branches, rails, then for each device on and low."""
        devices = zip(self.device_on, self.device_low, strict=True)
        return (
            *(gate for _, gate in self.gates),
            *self.rail_on,
            *(gate for both in devices for gate in both),
        )

    @property
    def gate_count(self) -> int:
        """How many gates there are."""
        return len(self.gates) + len(self.rail_on) + 2 * len(self.device_on)


@lru_cache(maxsize=1024)
def compile_shape(shape: Shape) -> Compiled:
    """Work out the elimination order and the logic of ``shape``, once."""
    topology = Topology(
        shape.nodes,
        tuple((a, b) for a, b, _ in shape.linear) + tuple((a, b) for a, b, _ in shape.rails),
        tuple((plus, minus) for _, plus, minus, _, _ in shape.devices),
        shape.apart,
    )
    return Compiled(
        shape,
        order(topology),
        tuple(
            (n, compiled(code)) for n, (_, _, code) in enumerate(shape.linear) if code[0] != "const"
        ),
        tuple(code == ("const", True) for _, _, code in shape.linear),
        tuple(compiled(code) for _, _, code in shape.rails),
        tuple(compiled(code) for _, _, _, code, _ in shape.devices),
        tuple(compiled(code) for _, _, _, _, code in shape.devices),
        topology.nonlinear,
        (
            np.array([s.a for s in (*shape.senses, *shape.bolts)], dtype=np.intp),
            np.array([s.b for s in (*shape.senses, *shape.bolts)], dtype=np.intp),
        ),
        tuple(compiled(sense.needs) for sense in shape.senses),
        tuple(compiled(bolt.needs) for bolt in shape.bolts),
        tuple((flag, compiled(code), speed) for flag, code, speed in shape.rules),
        tuple((flag, compiled(s), compiled(r), speed) for flag, s, r, speed in shape.latches),
        tuple((flag, compiled(s), compiled(c), rise) for flag, s, c, rise in shape.timers),
        frozenset(
            [Speed.CONTROLLER]
            + [sense.speed for sense in shape.senses]
            + [speed for _, _, speed in shape.rules]
            + [speed for _, _, _, speed in shape.latches]
        ),
    )
