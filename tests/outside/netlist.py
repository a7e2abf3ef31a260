"""A second path from wiring to a circuit: own merging of nodes, own reading of parts' elements.

Nothing here comes from the package's own way from wiring to a network; only its data are read.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from latchwork.elements import (
    All,
    Any_,
    Const,
    Contact,
    Diode,
    Expr,
    Figure,
    Flag,
    Fuse,
    Load,
    LoadLaw,
    Not,
    Rail,
    Resistor,
    Source,
    SourceShape,
)
from latchwork.parts import Part, with_state
from latchwork.wiring import Wiring
from tests.circuit.sample import Drawn, Pull, Resistance, Sample, Supply, Valve

LEAST_OHM = 1e-4
TRIPPED_OHM = 100.0
"""A polymer fuse that has tripped (common practice, no source)."""


@dataclass
class Netlist:
    """What has been read so far: node names joined by leads, and branches between names."""

    joined: dict[str, str] = field(default_factory=dict)
    resistances: list[tuple[str, str, float]] = field(default_factory=list)
    pulls: list[tuple[str, str, float, float]] = field(default_factory=list)
    supplies: list[tuple[str, str, Supply]] = field(default_factory=list)
    loads: list[tuple[str, str, Drawn]] = field(default_factory=list)
    diodes: list[tuple[str, str, Valve]] = field(default_factory=list)

    def root(self, name: str) -> str:
        while self.joined.get(name, name) != name:
            name = self.joined[name]
        return name

    def join(self, a: str, b: str) -> None:
        self.joined[self.root(a)] = self.root(b)

    def names(self) -> list[str]:
        """Every name that a branch or lead ends at."""
        ends = [(a, b) for a, b, _ in (*self.resistances, *self.supplies, *self.loads)]
        ends += [(a, b) for a, b, _ in self.diodes] + [(a, b) for a, b, _, _ in self.pulls]
        ends += list(self.joined.items())
        return list(dict.fromkeys(name for pair in ends for name in pair))

    def sample(self, grounds: list[str]) -> tuple[Sample, dict[str, int]]:
        """The circuit with every node of ``grounds`` as node 0, and the node of each name.

        Parts of a site that share no circuit have a ground each; no current can flow between
        them, so that tying the grounds together alters nothing.
        """
        numbers = {self.root(name): 0 for name in grounds}
        assert len(numbers) == len(grounds), "two parts of the site have one node in common"
        count = 1
        for name in self.names():
            if self.root(name) not in numbers:
                numbers[self.root(name)] = count
                count += 1

        def at(name: str) -> int:
            return numbers[self.root(name)]

        sample = Sample(
            count,
            tuple(Resistance(at(a), at(b), ohm) for a, b, ohm in self.resistances),
            tuple(Pull(at(a), at(b), volt, ohm) for a, b, volt, ohm in self.pulls),
            tuple(replace(s, plus=at(a), minus=at(b)) for a, b, s in self.supplies),
            tuple(replace(d, plus=at(a), minus=at(b)) for a, b, d in self.loads),
            tuple(replace(v, anode=at(a), cathode=at(b)) for a, b, v in self.diodes),
        )
        return sample, {name: at(name) for name in (*self.names(), *grounds)}


def true(expr: Expr, device: str, door: str, flags: Mapping[str, bool]) -> bool:
    """An expression of a part's flags, with the flags of the whole site by their full names."""
    match expr:
        case Const(value):
            return value
        case Flag(name):
            if name.startswith("site:"):
                full = name
            elif name.startswith("door:"):
                full = f"{door}:{name.removeprefix('door:')}"
            else:
                full = f"{device}.{name}"
            return flags.get(full, False)
        case Not(of):
            return not true(of, device, door, flags)
        case All(of):
            return all(true(term, device, door, flags) for term in of)
        case Any_(of):
            return any(true(term, device, door, flags) for term in of)


def read(wiring: Wiring, flags: Mapping[str, bool]) -> Netlist:
    """The wiring as a netlist with every contact where ``flags`` puts it, figures as they are."""
    net = Netlist()
    for lead in wiring.leads:
        if lead.ohm is None:
            net.join(lead.start, lead.end)
        else:
            net.resistances.append((lead.start, lead.end, at_least(lead.ohm)))
    for core in wiring.conductors:
        net.resistances.append((core.start, core.end, at_least(core.ohm)))
    for bridge in wiring.bridges:
        net.resistances.append((bridge.a, bridge.b, at_least(bridge.ohm)))
    alternating = any(
        isinstance(element, Source) and element.alternating
        for device in wiring.plan.devices.values()
        for element in device.part.elements
    )
    for device in wiring.plan.devices.values():
        part = device.part
        for state in wiring.states:
            if state.device == device.id:
                part = with_state(part, state.state, state.ohm)
        elements_of(net, part, device.id, device.door, flags, alternating)
    return net


def at_least(figure: Figure) -> float:
    return max(figure.value, LEAST_OHM)


def elements_of(
    net: Netlist,
    part: Part,
    device: str,
    door: str,
    flags: Mapping[str, bool],
    alternating: bool,
) -> None:
    """Set the elements of one part on ``net``. ``alternating``: coils show their impedance."""

    def at(terminal: str) -> str:
        return f"{device}.{terminal}"

    def on(expr: Expr) -> bool:
        return true(expr, device, door, flags)

    for element in part.elements:
        match element:
            case Resistor(a=a, b=b, ohm=ohm, on=there, impedance_ohm=impedance):
                shown = impedance if alternating and impedance is not None else ohm
                net.resistances.append((at(a), at(b), at_least(shown) if on(there) else math.inf))
            case Contact(a=a, b=b, closed=closed, closed_ohm=ohm):
                net.resistances.append((at(a), at(b), at_least(ohm) if on(closed) else math.inf))
            case Fuse(name=name, a=a, b=b, ohm=ohm, resets=resets):
                blown = flags.get(f"{device}.{name}.blown", False)
                open_ohm = TRIPPED_OHM if resets else math.inf
                net.resistances.append((at(a), at(b), open_ohm if blown else at_least(ohm)))
            case Rail(plus=a, minus=b, volt=volt, ohm=ohm, on=there):
                if on(there):
                    net.pulls.append((at(a), at(b), volt.value, at_least(ohm)))
            case Source(plus=a, minus=b) as source:
                net.supplies.append((at(a), at(b), supply(source, on)))
            case Load(plus=a, minus=b, law=law, amount=amount, floor_v=floor, on=there):
                drawn = Drawn(0, 0, law is LoadLaw.POWER, amount.value, floor, on(there))
                net.loads.append((at(a), at(b), drawn))
            case Diode(anode=a, cathode=b, saturation_a=amps, ideality=ideality):
                net.diodes.append((at(a), at(b), Valve(0, 0, amps, ideality)))


def supply(source: Source, on: Callable[[Expr], bool]) -> Supply:
    volt = source.volt
    if source.low_when is not None and source.low_volt is not None and on(source.low_when):
        volt = source.low_volt
    limit, fold = 1e12, None
    if source.limit_a is not None and source.shape is not SourceShape.BREAKS_DOWN:
        limit = source.limit_a.value
        fold = source.fold_a if source.shape is SourceShape.FOLD_BACK else None
    return Supply(0, 0, volt.value, at_least(source.ohm), limit, fold, on(source.on))
