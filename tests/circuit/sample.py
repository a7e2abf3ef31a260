"""One circuit described by itself, and random ones; nothing of the solver's own layout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from latchwork.circuit import (
    Device,
    DiodeRow,
    Injection,
    LoadRow,
    Row,
    Solution,
    SourceRow,
    Topology,
    order,
    solve,
)

THERMAL_V = 0.025852
"""kT/q at 300 K: 1.380649e-23 * 300 / 1.602176634e-19 (SI Brochure, 9th edition, from memory)."""

TIES_A = 1e-6
"""A diode, load or supply that carries less than this holds no node in its place."""


@dataclass(frozen=True)
class Resistance:
    a: int
    b: int
    ohm: float
    """inf: an open conductor."""


@dataclass(frozen=True)
class Pull:
    """``volt`` above ``minus`` behind ``ohm``."""

    plus: int
    minus: int
    volt: float
    ohm: float


@dataclass(frozen=True)
class Supply:
    plus: int
    minus: int
    volt: float
    ohm: float
    limit_a: float = 1e12
    fold_a: float | None = None
    on: bool = True

    @property
    def at_zero_a(self) -> float:
        return self.limit_a if self.fold_a is None else self.fold_a


@dataclass(frozen=True)
class Drawn:
    plus: int
    minus: int
    power: bool
    amount: float
    floor_v: float
    on: bool = True


@dataclass(frozen=True)
class Valve:
    anode: int
    cathode: int
    saturation_a: float = 1e-9
    ideality: float = 1.8

    @property
    def scale_v(self) -> float:
        return self.ideality * THERMAL_V


@dataclass(frozen=True)
class Sample:
    nodes: int
    resistances: tuple[Resistance, ...]
    pulls: tuple[Pull, ...] = ()
    supplies: tuple[Supply, ...] = ()
    loads: tuple[Drawn, ...] = ()
    diodes: tuple[Valve, ...] = ()

    @property
    def topology(self) -> Topology:
        linear = [(r.a, r.b) for r in self.resistances] + [(p.plus, p.minus) for p in self.pulls]
        others = [(s.plus, s.minus) for s in self.supplies]
        others += [(d.plus, d.minus) for d in self.loads]
        others += [(v.anode, v.cathode) for v in self.diodes]
        return Topology(self.nodes, tuple(linear), tuple(others))

    def devices(self) -> list[Device]:
        """The non-linear branches as the solver takes them, one column."""

        def row(number: float) -> Row:
            return np.array([float(number)])

        out: list[Device] = [
            SourceRow(row(s.volt), row(s.ohm), row(s.limit_a), row(s.at_zero_a), row(s.on))
            for s in self.supplies
        ]
        out += [LoadRow(d.power, row(d.amount), row(d.floor_v), row(d.on)) for d in self.loads]
        out += [DiodeRow(row(d.saturation_a), row(d.scale_v)) for d in self.diodes]
        return out


def solved(sample: Sample) -> Solution:
    """The solver's answer, one column."""
    return solved_together([sample])


def solved_together(samples: list[Sample], pairs: tuple[tuple[int, int], ...] = ()) -> Solution:
    """The solver's answer for circuits of one topology side by side; ``pairs``: nodes of which is
    asked whether anything joins them."""
    first = samples[0]
    topology = first.topology
    assert all(s.topology == topology for s in samples)
    ohms = np.array([[r.ohm for r in s.resistances] for s in samples]).reshape(len(samples), -1)
    pulls = np.array([[p.ohm for p in s.pulls] for s in samples]).reshape(len(samples), -1)
    volts = np.array([[p.volt for p in s.pulls] for s in samples]).reshape(len(samples), -1)
    rows: list[Row | None] = [1.0 / ohms[:, n] for n in range(ohms.shape[1])]
    rows += [1.0 / pulls[:, n] for n in range(pulls.shape[1])]
    injections = [
        Injection(p.plus, p.minus, volts[:, n] / pulls[:, n]) for n, p in enumerate(first.pulls)
    ]
    columns = [s.devices() for s in samples]
    devices = [_beside([c[n] for c in columns]) for n in range(len(columns[0]))]
    return solve(
        order(topology),
        first.nodes,
        topology.nonlinear,
        rows,
        injections,
        devices,
        len(samples),
        pairs=pairs,
    )


def _beside(rows: Sequence[Device]) -> Device:
    def row(name: str) -> Row:
        return np.concatenate([getattr(r, name) for r in rows])

    match rows[0]:
        case SourceRow():
            return SourceRow(row("volt"), row("ohm"), row("limit_a"), row("fold_a"), row("on"))
        case LoadRow(power=power):
            return LoadRow(power, row("amount"), row("floor_v"), row("on"))
        case DiodeRow():
            return DiodeRow(row("saturation_a"), row("scale_v"))
    raise AssertionError("samples hold no curves")


def held(sample: Sample, volts: Sequence[float]) -> list[bool]:
    """Which nodes something that conducts ties to node 0, by graph search of the description."""
    links = [(r.a, r.b) for r in sample.resistances if math.isfinite(r.ohm)]
    links += [(p.plus, p.minus) for p in sample.pulls]
    for v in sample.diodes:
        amps = v.saturation_a * math.expm1((volts[v.anode] - volts[v.cathode]) / v.scale_v)
        if amps > TIES_A:
            links.append((v.anode, v.cathode))
    for s in sample.supplies:
        if s.on and (s.volt - volts[s.plus] + volts[s.minus]) / s.ohm > TIES_A:
            links.append((s.plus, s.minus))
    for d in sample.loads:
        least_s = d.amount / d.floor_v ** (2 if d.power else 1)
        across = min(volts[d.plus] - volts[d.minus], d.floor_v)
        if d.on and least_s * across > TIES_A:
            links.append((d.plus, d.minus))
    seen = [n == 0 for n in range(sample.nodes)]
    front = [0]
    while front:
        node = front.pop()
        for a, b in links:
            for here, there in ((a, b), (b, a)):
                if here == node and not seen[there]:
                    seen[there] = True
                    front.append(there)
    return seen


def random_sample(rng: np.random.Generator) -> Sample:
    """A circuit like those of doors: supplies with limits, batteries, cores, coils, loads."""
    nodes = int(rng.integers(4, 15))
    system = 24.0 if rng.random() < 0.5 else 12.0

    def spread(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))

    def pair() -> tuple[int, int]:
        a, b = rng.choice(nodes, size=2, replace=False)
        return int(a), int(b)

    resistances = []
    for node in range(1, nodes):
        if rng.random() < 0.9:
            resistances.append(Resistance(int(rng.integers(0, node)), node, spread(0.02, 30.0)))
    for _ in range(int(rng.integers(0, nodes))):
        ohm = math.inf if rng.random() < 0.2 else spread(0.02, 1e5)
        resistances.append(Resistance(*pair(), ohm))
    supplies = []
    for n in range(int(rng.integers(1, 4))):
        # One supply with a limit: two of them in series have several answers.
        kind = rng.random() * (1.0 if n == 0 else 0.3) + (0.0 if n == 0 else 0.6)
        limit = spread(0.3, 10.0)
        supply = Supply(*pair(), system * rng.uniform(0.8, 1.2), spread(0.01, 0.3))
        if kind < 0.35:
            supply = replace(supply, limit_a=limit)
        elif kind < 0.6:
            supply = replace(supply, limit_a=limit, fold_a=limit * rng.uniform(0.1, 0.9))
        elif kind < 0.7:
            supply = replace(supply, on=False)
        supplies.append(supply)
    loads = [
        Drawn(
            *pair(),
            bool(rng.random() < 0.6),
            spread(0.05, 6.0) if rng.random() < 0.6 else spread(0.02, 1.0),
            system * float(rng.uniform(0.3, 0.8)),
            bool(rng.random() < 0.9),
        )
        for _ in range(int(rng.integers(0, 4)))
    ]
    diodes = [Valve(*pair()) for _ in range(int(rng.integers(0, 3)))]
    pulls = [
        Pull(*pair(), 5.0 if rng.random() < 0.5 else 3.3, spread(1e3, 5e4))
        for _ in range(int(rng.integers(0, 3)))
    ]
    return Sample(
        nodes, tuple(resistances), tuple(pulls), tuple(supplies), tuple(loads), tuple(diodes)
    )
