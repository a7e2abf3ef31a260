"""A hand-made network: elements and rules set on a board one by one, names given in full."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case, Climate
from latchwork.behaviour.network import (
    Network,
    PlacedElement,
    PlacedRule,
    Things,
    network,
    values,
)
from latchwork.behaviour.positions import conductance_rows, device_rows
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import SOURCE, Values, compile_shape, stacked
from latchwork.behaviour.state import Batch, Forced, Point, State, dead, with_inputs
from latchwork.behaviour.timing import step
from latchwork.circuit import device_current
from latchwork.elements import (
    FALSE,
    TRUE,
    Bolt,
    Contact,
    Diode,
    Element,
    Expr,
    Figure,
    Flag,
    Fuse,
    Input,
    Latch,
    Load,
    LoadLaw,
    Rail,
    Resistor,
    ResistorRole,
    Rule,
    Sense,
    Source,
    SourceShape,
    Speed,
    StateRule,
    Timer,
    TimerMode,
    exactly,
)
from tests.circuit.conservation import (
    REST_A,
    assert_conserved,
    branch_flow,
    rail_flow,
    resistor_flow,
)

CLIMATE = Climate()


def figure(number: float | Figure) -> Figure:
    return number if isinstance(number, Figure) else exactly(number)


@dataclass
class Board:
    """What has been set on the board so far; node "0" is the reference."""

    elements: list[PlacedElement] = field(default_factory=list)
    rules: list[PlacedRule] = field(default_factory=list)

    def _put(self, name: str, a: str, b: str, what: Element, on: Expr = TRUE) -> None:
        self.elements.append(PlacedElement(name, a, b, what, "D1", "D1.x", on))

    def _rule(self, what: StateRule, *exprs: Expr, a: str = "", b: str = "") -> Flag:
        self.rules.append(PlacedRule(what.flag, what, a, b, exprs))
        return Flag(what.flag)

    def ohm(
        self,
        name: str,
        a: str,
        b: str,
        ohm: float | Figure,
        on: Expr = TRUE,
        role: ResistorRole = ResistorRole.LOAD,
    ) -> None:
        self._put(name, a, b, Resistor(name, a, b, figure(ohm), role), on)

    def contact(self, name: str, a: str, b: str, closed: Expr, ohm: float = 0.05) -> None:
        self._put(name, a, b, Contact(name, a, b, closed, exactly(ohm)), closed)

    def fuse(
        self, name: str, a: str, b: str, ohm: float, blows_at_a: float, resets: bool = False
    ) -> None:
        what = Fuse(name, a, b, exactly(ohm), blows_at_a / 2.0, blows_at_a, resets)
        self._put(name, a, b, what)

    def rail(self, name: str, a: str, b: str, volt: float, ohm: float, on: Expr = TRUE) -> None:
        self._put(name, a, b, Rail(name, a, b, exactly(volt), exactly(ohm)), on)

    def source(
        self,
        name: str,
        a: str,
        b: str,
        volt: float | Figure,
        ohm: float | Figure = 0.05,
        limit_a: float | None = None,
        fold_a: float | None = None,
        on: Expr = TRUE,
    ) -> None:
        shape = SourceShape.BREAKS_DOWN if limit_a is None else SourceShape.CONSTANT
        if fold_a is not None:
            shape = SourceShape.FOLD_BACK
        limit = None if limit_a is None else exactly(limit_a)
        what = Source(name, a, b, figure(volt), figure(ohm), limit, shape, fold_a or 0.0)
        self._put(name, a, b, what, on)

    def load(
        self,
        name: str,
        a: str,
        b: str,
        amount: float | Figure,
        floor_v: float,
        law: LoadLaw = LoadLaw.POWER,
        on: Expr = TRUE,
    ) -> None:
        self._put(name, a, b, Load(name, a, b, law, figure(amount), floor_v), on)

    def diode(self, name: str, anode: str, cathode: str) -> None:
        self._put(name, anode, cathode, Diode(name, anode, cathode))

    def input(self, flag: str, rest: bool = False) -> Flag:
        return self._rule(Input(flag, rest))

    def sense(
        self,
        flag: str,
        a: str,
        b: str,
        on_v: float,
        off_v: float,
        needs: Expr = TRUE,
        speed: Speed = Speed.CONTROLLER,
        either_way: bool = False,
    ) -> Flag:
        what = Sense(flag, a, b, exactly(on_v), exactly(off_v), either_way, speed=speed)
        return self._rule(what, needs, a=a, b=b)

    def bolt(
        self,
        flag: str,
        a: str,
        b: str,
        may_pick_v: float,
        surely_pick_v: float,
        surely_hold_v: float,
        surely_release_v: float,
        either_way: bool = True,
        needs: Expr = TRUE,
    ) -> Flag:
        what = Bolt(
            flag, a, b, may_pick_v, surely_pick_v, surely_hold_v, surely_release_v, either_way
        )
        return self._rule(what, needs, a=a, b=b)

    def rule(self, flag: str, when: Expr, speed: Speed = Speed.CONTROLLER) -> Flag:
        return self._rule(Rule(flag, when, speed), when)

    def latch(self, flag: str, set_by: Expr, reset_by: Expr, rest: bool = False) -> Flag:
        return self._rule(Latch(flag, set_by, reset_by, rest), set_by, reset_by)

    def timer(
        self,
        flag: str,
        start: Expr,
        seconds: float,
        mode: TimerMode = TimerMode.ON_RISE,
        clear: Expr = FALSE,
    ) -> Flag:
        return self._rule(Timer(flag, start, exactly(seconds), mode), start, clear)

    def things(self) -> Things:
        return Things(tuple(self.elements), tuple(self.rules), (), "0")

    def ready(self, case: Case = Case.NOMINAL) -> Ready:
        return Ready(network(self.things()), values(self.things(), case, CLIMATE))

    def shuffled(self, rng: np.random.Generator) -> Board:
        """The same board with everything set on it in another order."""
        return Board(
            [self.elements[n] for n in rng.permutation(len(self.elements))],
            [self.rules[n] for n in rng.permutation(len(self.rules))],
        )


@dataclass(frozen=True)
class Ready:
    """A board compiled, one column of values, with its names."""

    net: Network
    values: Values

    def batch(self, columns: int = 1) -> Batch:
        return Batch.of(compile_shape(self.net.shape), self.values, columns)

    def dead(self, columns: int = 1) -> State:
        return dead(compile_shape(self.net.shape), columns)

    def settle(self, state: State | None = None, **inputs: bool) -> tuple[State, Point]:
        """Settle one column with the named inputs set, from ``state`` or from dead."""
        after, point = settle(self.batch(), self.given(state or self.dead(), **inputs))
        assert_point_conserved(self.batch(), point)
        return after, point

    def step(self, state: State | None, seconds: float, **inputs: bool) -> tuple[State, Point]:
        after, point = step(self.batch(), self.given(state or self.dead(), **inputs), seconds)
        assert_point_conserved(self.batch(), point)
        return after, point

    def given(self, state: State, **inputs: bool | NDArray[np.bool_]) -> State:
        return with_inputs(state, {self.net.flags[name]: v for name, v in inputs.items()})

    def flag(self, at: State | Point, name: str) -> bool:
        return bool(at.flags[self.net.flags[name], 0])

    def flips(self, point: Point) -> set[str]:
        return {name for name, n in self.net.flags.items() if point.flips[n, 0]}

    def volts(self, point: Point, a: str, b: str = "0") -> float:
        return float(point.volts[self.net.nodes[a], 0] - point.volts[self.net.nodes[b], 0])

    def bolt(self, at: State | Point, name: str) -> int:
        return int(at.bolts[self.net.bolts.index(name), 0])

    def range_v(self, point: Point, name: str) -> tuple[float, float]:
        """Least and most volts seen by a sense or bolt."""
        row = (*self.net.senses, *self.net.bolts).index(name)
        return float(point.sense_low_v[row, 0]), float(point.sense_high_v[row, 0])


def side_by_side(readies: Sequence[Ready]) -> Batch:
    """Boards of one shape as the columns of one batch, in order."""
    shapes = {r.net.shape for r in readies}
    assert len(shapes) == 1
    columns = np.arange(len(readies))
    values = stacked([r.values for r in readies], columns)
    return Batch.of(compile_shape(readies[0].net.shape), values, len(readies))


def assert_point_conserved(batch: Batch, point: Point) -> None:
    """Currents and power add up at a point, in every column that is at rest and solved."""
    at_rest = point.solved & ~point.chatter
    assert_flows_conserved(batch, point.flags, point.volts, point.start.regions, at_rest)


def assert_flows_conserved(
    batch: Batch,
    flags: NDArray[np.bool_],
    volts: NDArray[np.float64],
    regions: NDArray[np.int8],
    where: NDArray[np.bool_],
    rest_a: float = REST_A,
) -> None:
    """Currents, to ``rest_a``, and power add up with these flags and volts, in the columns
    ``where``."""
    shape = batch.compiled.shape
    rows = conductance_rows(batch.compiled, batch.values, flags)
    flows = []
    for n, (a, b, _) in enumerate(shape.linear):
        row = rows[n]
        if row is not None:
            flows.append(resistor_flow(f"linear {n}", a, b, volts, row))
    for n, (plus, minus, _) in enumerate(shape.rails):
        row = rows[len(shape.linear) + n]
        if row is not None:
            volt = batch.values.rail_volt[n]
            flows.append(rail_flow(f"rail {n}", plus, minus, volts, volt, row))
    devices = device_rows(batch.compiled, batch.values, flags)
    for n, (kind, plus, minus, _, _) in enumerate(shape.devices):
        amps = device_current(devices[n], volts[plus] - volts[minus], regions[n])
        flows.append(
            branch_flow(f"device {n}", plus, minus, volts, -amps if kind == SOURCE else amps)
        )
    assert_conserved(volts, flows, where, rest_a)


def stuck_batch(batch: Batch, forced: Mapping[int, Forced]) -> Batch:
    """The batch with flags that are stuck."""
    return Batch(replace(batch.members, forced=forced), batch.columns)
