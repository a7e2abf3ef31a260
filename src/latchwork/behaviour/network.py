"""From wiring to networks: elements in their places, joined at nodes, logic with full names."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour.cases import (
    Case,
    Climate,
    conductor_ohm,
    load_amount,
    resistor_ohm,
    source_gives,
    source_ohm,
    threshold_v,
)
from latchwork.behaviour.logic import Code, encode
from latchwork.behaviour.shape import (
    CURRENT_LOAD,
    CURVE,
    DIODE,
    POWER_LOAD,
    SOURCE,
    SenseShape,
    Shape,
    Values,
)
from latchwork.circuit.devices import THERMAL_V
from latchwork.elements import (
    All,
    Any_,
    Bolt,
    Contact,
    Diode,
    Expr,
    Figure,
    Flag,
    Fuse,
    Input,
    Latch,
    Load,
    LoadLaw,
    Not,
    Rail,
    Resistor,
    Rule,
    Sense,
    Source,
    SourceShape,
    Speed,
    Timer,
    TimerMode,
    expr_flags,
)

FOREVER_A = 1e12
"""Stands for "no limit"."""
LEAST_OHM = 1e-4
"""No joint or contact is better than this; it keeps conductances within reason."""


@dataclass(frozen=True, slots=True)
class PlacedElement:
    """An element with full names: ``name`` "D3.lock.coil", nodes, and its flags' full names."""

    name: str
    a: str
    b: str
    what: Resistor | Rail | Source | Load | Diode | Contact | Fuse
    door: str
    device: str
    on: Expr


@dataclass(frozen=True, slots=True)
class PlacedRule:
    """A rule with full names: its flag, and nodes where it senses volts."""

    flag: str
    what: Input | Sense | Bolt | Rule | Latch | Timer
    a: str
    b: str
    exprs: tuple[Expr, ...]
    """needs / when / (set, reset) / (start, clear), with full names."""


@dataclass(frozen=True, slots=True)
class PlacedConductor:
    """A core, lead or bridge as a resistance between two nodes."""

    name: str
    a: str
    b: str
    ohm: Figure
    copper: bool
    door: str
    temperature_c: Figure | None = None
    """Where it runs, where that was said; else the site's ambient counts."""


@dataclass(frozen=True, slots=True)
class Curve:
    """What the rest of a supply's doors draw: amperes at each of ``volts``, from plus to minus."""

    plus: str
    minus: str
    volts: tuple[float, ...]
    amps: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Network:
    """One group of things that share a circuit, with its names; ``shape`` and ``values`` run."""

    shape: Shape
    nodes: Mapping[str, int]
    linear: tuple[str, ...]
    rails: tuple[str, ...]
    devices: tuple[str, ...]
    flags: Mapping[str, int]
    senses: tuple[str, ...]
    bolts: tuple[str, ...]
    inputs: frozenset[str]
    reference: str


def full_names(expr: Expr, device: str, door: str) -> Expr:
    """``expr`` with part-local flags named by device and door flags by door."""
    match expr:
        case Flag(name):
            return Flag(full_flag(name, device, door))
        case Not(of):
            return Not(full_names(of, device, door))
        case All(of):
            return All(tuple(full_names(term, device, door) for term in of))
        case Any_(of):
            return Any_(tuple(full_names(term, device, door) for term in of))
        case _:
            return expr


def full_flag(name: str, device: str, door: str) -> str:
    """The site-wide name of a flag of ``device``."""
    if name.startswith("site:"):
        return name
    if name.startswith("door:"):
        return f"{door}:{name[5:]}"
    return f"{device}.{name}"


@dataclass(frozen=True, slots=True)
class Things:
    """What one network is built from."""

    elements: tuple[PlacedElement, ...]
    rules: tuple[PlacedRule, ...]
    conductors: tuple[PlacedConductor, ...]
    reference: str
    curve: Curve | None = None


def network(things: Things) -> Network:
    """The shape and names of the network made of ``things``."""
    nodes: dict[str, int] = {things.reference: 0}
    flags: dict[str, int] = {}

    def node(name: str) -> int:
        return nodes.setdefault(name, len(nodes))

    for rule in things.rules:
        flags.setdefault(rule.flag, len(flags))
    fuse_flags = {}
    for item in things.elements:
        if isinstance(item.what, Fuse):
            fuse_flags[item.name] = flags.setdefault(f"{item.name}.blown", len(flags))
    free = _world_flags(things)
    for name in free:
        flags.setdefault(name, len(flags))

    def code(expr: Expr) -> Code:
        return encode(expr, flags)

    always: Code = ("const", True)
    never: Code = ("const", False)
    linear: list[tuple[int, int, Code]] = []
    linear_names: list[str] = []
    rails: list[tuple[int, int, Code]] = []
    devices: list[tuple[int, int, int, Code, Code]] = []
    fuses = []
    apart: set[int] = set()
    for wire in things.conductors:
        if math.isinf(wire.ohm.value):
            apart.add(len(linear))
        linear.append((node(wire.a), node(wire.b), always))
        linear_names.append(wire.name)
    for item in things.elements:
        a, b, on = node(item.a), node(item.b), code(item.on)
        match item.what:
            case Resistor(ohm=figure) | Contact(closed_ohm=figure):
                if math.isinf(figure.value):
                    apart.add(len(linear))
                linear.append((a, b, on))
                linear_names.append(item.name)
            case Fuse(resets=resets):
                blown = fuse_flags[item.name]
                fuses.append((len(linear), blown, resets))
                linear.append((a, b, ("not", ("flag", blown))))
                linear_names.append(item.name)
            case Rail():
                rails.append((a, b, on))
            case Source() as source:
                low = (
                    full_names(source.low_when, item.device, item.door) if source.low_when else None
                )
                devices.append((SOURCE, a, b, on, code(low) if low else never))
            case Load(law=law):
                kind = POWER_LOAD if law is LoadLaw.POWER else CURRENT_LOAD
                devices.append((kind, a, b, on, never))
            case Diode():
                devices.append((DIODE, a, b, on, never))
    if things.curve is not None:
        devices.append((CURVE, node(things.curve.plus), node(things.curve.minus), always, never))
    senses, bolts, rules, latches, timers = [], [], [], [], []
    rests: list[tuple[int, bool]] = []
    inputs = set(free)
    for placed in things.rules:
        flag = flags[placed.flag]
        match placed.what:
            case Input(rest=rest):
                inputs.add(placed.flag)
                rests.append((flag, rest))
            case Sense(either_way=either, speed=speed):
                senses.append(
                    SenseShape(
                        flag, node(placed.a), node(placed.b), either, code(placed.exprs[0]), speed
                    )
                )
            case Bolt(either_way=either):
                bolts.append(
                    SenseShape(
                        flag,
                        node(placed.a),
                        node(placed.b),
                        either,
                        code(placed.exprs[0]),
                        Speed.LOCK,
                    )
                )
            case Rule(speed=speed):
                rules.append((flag, code(placed.exprs[0]), int(speed)))
            case Latch(rest=rest, speed=speed):
                rests.append((flag, rest))
                latches.append((flag, code(placed.exprs[0]), code(placed.exprs[1]), int(speed)))
            case Timer(mode=mode):
                timers.append(
                    (flag, code(placed.exprs[0]), code(placed.exprs[1]), mode is TimerMode.ON_RISE)
                )
    shape = Shape(
        len(nodes),
        tuple(linear),
        tuple(rails),
        tuple(devices),
        tuple(fuses),
        len(flags),
        tuple(rests),
        tuple(senses),
        tuple(bolts),
        tuple(rules),
        tuple(latches),
        tuple(timers),
        frozenset(apart),
    )
    return Network(
        shape,
        nodes,
        tuple(linear_names),
        tuple(e.name for e in things.elements if isinstance(e.what, Rail)),
        tuple(e.name for e in things.elements if isinstance(e.what, Source | Load | Diode))
        + (("curve",) if things.curve else ()),
        flags,
        tuple(r.flag for r in things.rules if isinstance(r.what, Sense)),
        tuple(r.flag for r in things.rules if isinstance(r.what, Bolt)),
        frozenset(inputs),
        things.reference,
    )


def _world_flags(things: Things) -> list[str]:
    """Flags that expressions read and no rule of the network sets: door and site inputs."""
    own = {rule.flag for rule in things.rules}
    exprs = [item.on for item in things.elements]
    exprs += (expr for rule in things.rules for expr in rule.exprs)
    once = {id(expr): expr for expr in exprs}  # most are the same ones
    read = dict.fromkeys(name for expr in once.values() for name in expr_flags(expr))
    return [name for name in read if name not in own and ":" in name]


def values(things: Things, case: Case, climate: Climate) -> Values:
    """The numbers of the network made of ``things`` in ``case``, as one column."""
    ohm = [_wire_ohm(wire, case, climate) for wire in things.conductors]
    rail_volt, rail_ohm, source, load, diode, blows = [], [], [], [], [], []
    for item in things.elements:
        match item.what:
            case Resistor(ohm=figure, role=role):
                ohm.append(max(resistor_ohm(figure, role, case, climate), LEAST_OHM))
            case Contact(closed_ohm=figure):
                ohm.append(max(conductor_ohm(figure, case, Climate(20.0, 20.0)), LEAST_OHM))
            case Fuse(ohm=figure, blows_at_a=amps):
                ohm.append(max(source_ohm(figure, case), LEAST_OHM))
                blows.append(amps)
            case Rail(volt=volt, ohm=inner):
                rail_volt.append(volt.value)
                rail_ohm.append(max(inner.value, LEAST_OHM))
            case Source() as s:
                limit = FOREVER_A
                if s.limit_a is not None and s.shape is not SourceShape.BREAKS_DOWN:
                    limit = source_gives(s.limit_a, case)
                # The limit may be a smaller supply's than what it is said to fold back to.
                fold = min(s.fold_a, limit) if s.shape is SourceShape.FOLD_BACK else limit
                source.append(
                    (
                        source_gives(s.volt, case),
                        source_gives(s.low_volt or s.volt, case),
                        max(source_ohm(s.ohm, case), LEAST_OHM),
                        limit,
                        fold,
                    )
                )
            case Load() as drawn:
                load.append((load_amount(drawn.amount, case), drawn.floor_v))
            case Diode(saturation_a=amps, ideality=n):
                diode.append((amps, n * THERMAL_V))
    sense_on, sense_off, bolt_v, timer_s = [], [], [], []
    for placed in things.rules:
        match placed.what:
            case Sense(on_v=on, off_v=off):
                sense_on.append(threshold_v(on, case))
                sense_off.append(threshold_v(off, case))
            case Bolt() as bolt:
                bolt_v += [
                    bolt.may_pick_v,
                    bolt.surely_pick_v,
                    bolt.surely_hold_v,
                    bolt.surely_release_v,
                ]
            case Timer(seconds=seconds):
                timer_s.append(seconds.value)

    def column(numbers: Iterable[float]) -> np.ndarray:
        return np.array(list(numbers), dtype=float).reshape(-1, 1)

    curve = things.curve
    return Values(
        column(ohm),
        column(rail_volt),
        column(rail_ohm),
        column(s[0] for s in source),
        column(s[1] for s in source),
        column(s[2] for s in source),
        column(s[3] for s in source),
        column(s[4] for s in source),
        column(amount for amount, _ in load),
        column(floor for _, floor in load),
        column(amps for amps, _ in diode),
        column(scale for _, scale in diode),
        column(blows),
        column(sense_on),
        column(sense_off),
        column(bolt_v),
        column(timer_s),
        np.array(curve.volts) if curve else np.zeros(0),
        np.array(curve.amps).reshape(-1, 1) if curve else np.zeros((0, 1)),
    )


def _wire_ohm(wire: PlacedConductor, case: Case, climate: Climate) -> float:
    here = climate if wire.copper else Climate(20.0, 20.0)
    if wire.temperature_c is not None:
        here = Climate(wire.temperature_c.low, wire.temperature_c.high)
    return max(conductor_ohm(wire.ohm, case, here), LEAST_OHM)
