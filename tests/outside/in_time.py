"""A wiring through time, as ngspice runs it: contacts, relays, locks and fuses with their lags.

A third reading of the parts, contact rules included. Each flag is a node: what it is to become is
lagged, by some thirty times more from class to class, as classes move one after another, and a
switch with hysteresis says what it is. A fuse warms with the square of its current. Timers stand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from latchwork.elements import (
    All,
    Any_,
    Bolt,
    Const,
    Contact,
    Diode,
    Element,
    Expr,
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
    Speed,
    StateRule,
    Timer,
)
from latchwork.parts import with_state
from latchwork.wiring import Wiring
from tests.circuit.sample import Drawn, Supply
from tests.outside.netlist import Netlist, at_least, supply
from tests.outside.test_circuit_spice import load_line, supply_line

LAG_S = {
    **{Speed.CONTROLLER: 1e-4, Speed.RELAY: 3e-3, Speed.LOCK: 0.1},
    **{Speed.FUSE: 3.0, Speed.CUT_OFF: 90.0},
}
STRAY_F = 1e-9
"""At each node of the circuit: nothing there moves at once."""
OPEN_OHM = 1e12
HALF = "half"
"""The switch that says whether a lagged flag is more true than not."""


@dataclass
class InTime:
    """What has been written so far. ``flags`` are as they stand at nought."""

    flags: Mapping[str, bool]
    nodes: Mapping[str, int]
    lines: list[str] = field(default_factory=list)
    seen: dict[str, str] = field(default_factory=dict)
    """The node that says what each flag is."""
    stuck: set[str] = field(default_factory=set)

    def at(self, name: str) -> str:
        return f"n{self.nodes[name]}"

    def flag(self, name: str) -> str:
        """The node of a flag."""
        return self.seen.setdefault(name, f"f{len(self.seen)}")

    def expr(self, expr: Expr, device: str, door: str) -> str:
        """An expression as arithmetic on volts of nought or one."""
        match expr:
            case Const(value):
                return "1" if value else "0"
            case Flag(name):
                return f"V({self.flag(full(name, device, door))})"
            case Not(of):
                return f"(1-{self.expr(of, device, door)})"
            case All(of):
                return "(" + "*".join(self.expr(t, device, door) for t in of) + ")" if of else "1"
            case Any_(of):
                none = "*".join(f"(1-{self.expr(t, device, door)})" for t in of)
                return f"(1-{none})" if of else "0"

    def follow(self, name: str, becomes: str, speed: Speed, on: float, off: float) -> None:
        """A flag that is true from ``on`` upward and false below ``off`` of what it follows."""
        node, was = self.flag(name), self.flags.get(name, False)
        begin = 1.05 * on if was else 0.0
        self.lines += [
            f"B{node} b{node} 0 V = {becomes}",
            f"R{node} b{node} k{node} 1",
            f"C{node} k{node} 0 {LAG_S[speed]} IC={begin}",
            f".model m{node} SW(vt={(on + off) / 2} vh={(on - off) / 2} ron=1 roff=1e9)",
            f"S{node} one {node} k{node} 0 m{node} {'ON' if was else 'OFF'}",
            f"Rd{node} {node} 0 1e5",
        ]

    def stands(self, name: str) -> None:
        """A flag that does not move."""
        node = self.flag(name)
        self.lines.append(f"V{node} {node} 0 {int(self.flags.get(name, False))}")

    def rule(self, rule: StateRule, device: str, door: str) -> None:
        name = full(rule.flag, device, door)

        def expr(e: Expr) -> str:
            return self.expr(e, device, door)

        match rule:
            case Input() | Timer():
                self.stands(name)
            case Sense(a=a, b=b, on_v=on, off_v=off, either_way=either, needs=needs, speed=speed):
                volts = self.across(device, a, b, either)
                self.follow(name, f"{expr(needs)} * {volts}", speed, on.value, off.value)
            case Bolt(a=a, b=b, either_way=either, needs=needs) as bolt:
                volts = self.across(device, a, b, either)
                on_v, off_v = bolt.surely_pick_v, bolt.surely_release_v
                self.follow(name, f"{expr(needs)} * {volts}", Speed.LOCK, on_v, off_v)
            case Rule(when=when, speed=speed):
                self.follow(name, expr(when), speed, 0.6, 0.4)
            case Latch(set_by=set_by, reset_by=reset_by, speed=speed):
                kept = f"(1-(1-V({self.flag(name)}))*(1-{expr(set_by)}))"
                self.follow(name, f"{kept} * (1-{expr(reset_by)})", speed, 0.6, 0.4)

    def across(self, device: str, a: str, b: str, either_way: bool) -> str:
        volts = f"V({self.at(f'{device}.{a}')},{self.at(f'{device}.{b}')})"
        return f"abs({volts})" if either_way else volts

    def switch(self, a: str, b: str, ohm: float, closed: str) -> None:
        n = len(self.lines)
        if closed in ("0", "1"):
            if closed == "1":
                self.lines.append(f"R{n} {a} {b} {ohm}")
            return
        self.lines += [
            f"Bc{n} c{n} 0 V = {closed}",
            f".model c{n} SW(vt=0.5 vh=0.1 ron={ohm} roff={OPEN_OHM})",
            f"Sc{n} {a} {b} c{n} 0 c{n}",
        ]

    def element(self, element: Element, device: str, door: str) -> None:
        n = len(self.lines)

        def node(terminal: str) -> str:
            return self.at(f"{device}.{terminal}")

        def on(e: Expr) -> str:
            return self.expr(e, device, door)

        match element:
            case Resistor(a=a, b=b, ohm=ohm, on=there):
                self.switch(node(a), node(b), at_least(ohm), on(there))
            case Contact(a=a, b=b, closed=closed, closed_ohm=ohm):
                self.switch(node(a), node(b), at_least(ohm), on(closed))
            case Fuse(name=name, a=a, b=b, ohm=ohm, blows_at_a=blows_at_a):
                blown = f"{device}.{name}.blown"
                full_v = at_least(ohm) * blows_at_a
                part = f"(V({node(a)},{node(b)}) / {full_v})"
                warms = f"{self.expr(Flag(blown), '', '')} > 0.5 ? 1 : max({part}^2 - 1, 0)"
                self.warms(blown, warms)
                self.switch(node(a), node(b), at_least(ohm), f"(1-V({self.flag(blown)}))")
            case Rail(plus=a, minus=b, volt=volt, ohm=ohm, on=there):
                v = f"V({node(a)},{node(b)})"
                amps = f"({volt.value} - {v}) / {at_least(ohm)}"
                self.lines.append(f"Br{n} {node(b)} {node(a)} I = {on(there)} * {amps}")
            case Source(plus=a, minus=b) as source:
                self.source(source, self.nodes[f"{device}.{a}"], self.nodes[f"{device}.{b}"], on)
            case Load(plus=a, minus=b, law=law, amount=amount, floor_v=floor, on=there):
                ends = self.nodes[f"{device}.{a}"], self.nodes[f"{device}.{b}"]
                drawn = Drawn(*ends, law is LoadLaw.POWER, amount.value, floor)
                self.lines.append(gated(load_line(n, drawn), on(there)))
            case Diode(anode=a, cathode=b, saturation_a=amps, ideality=ideality):
                self.lines += [
                    f".model d{n} D(IS={amps} N={ideality})",
                    f"Dd{n} {node(a)} {node(b)} d{n}",
                ]

    def warms(self, blown: str, rate: str) -> None:
        """A fuse: warm through and through is blown, for good."""
        node, was = self.flag(blown), self.flags.get(blown, False)
        self.lines += [
            f"B{node} 0 k{node} I = {rate}",
            f"C{node} k{node} 0 {LAG_S[Speed.FUSE]} IC={int(was)}",
            f"Dk{node} k{node} two cold",
            f"S{node} one {node} k{node} 0 {HALF} {'ON' if was else 'OFF'}",
            f"Rd{node} {node} 0 1e5",
        ]

    def source(self, source: Source, plus: int, minus: int, on: object) -> None:
        assert callable(on)
        for there, gate in source_states(source, on):
            n = len(self.lines)
            its: Supply = supply(source, lambda e, t=there: t if e == source.low_when else True)  # type: ignore[misc]  # a default binds it
            line = supply_line(n, Supply(plus, minus, its.volt, its.ohm, its.limit_a, its.fold_a))
            self.lines.append(gated(line, gate))


def source_states(source: Source, on: object) -> list[tuple[bool, str]]:
    """Whether a source is at its low volts, and while what it is so."""
    assert callable(on)
    there = on(source.on)
    if source.low_when is None:
        return [(False, there)]
    low = on(source.low_when)
    return [(False, f"{there} * (1-{low})"), (True, f"{there} * {low}")]


def gated(line: str, on: str) -> str:
    """A line of a current, there while ``on`` is 1."""
    head, _, law = line.partition("I = ")
    return f"{head}I = {on} * ({law})"


def full(name: str, device: str, door: str) -> str:
    """A flag's name in the whole site."""
    if name.startswith("site:"):
        return name
    if name.startswith("door:"):
        return f"{door}:{name.removeprefix('door:')}"
    return f"{device}.{name}" if device else name


def in_time(wiring: Wiring, flags: Mapping[str, bool], ground: str) -> InTime:
    """The deck of ``wiring`` from dark, its flags as given."""
    net = Netlist()
    for device in wiring.plan.devices.values():
        for terminal in terminals(wiring, device.id):
            net.joined.setdefault(terminal, terminal)
    for lead in wiring.leads:
        assert lead.ohm is not None
        net.resistances.append((lead.start, lead.end, at_least(lead.ohm)))
    for wire in wiring.conductors:
        net.resistances.append((wire.start, wire.end, at_least(wire.ohm)))
    for bridge in wiring.bridges:
        net.resistances.append((bridge.a, bridge.b, at_least(bridge.ohm)))
    sample, nodes = net.sample([ground])
    deck = InTime(flags, nodes)
    deck.lines += ["V0 n0 0 0", "Vone one 0 1", "Vtwo two 0 2"]
    deck.lines += [f".model {HALF} SW(vt=0.95 vh=0.04 ron=1 roff=1e9)", ".model cold D(N=0.1)"]
    for n, r in enumerate(sample.resistances):
        deck.lines.append(f"Rr{n} n{r.a} n{r.b} {r.ohm}")
    for device in wiring.plan.devices.values():
        part = device.part
        for state in wiring.states:
            if state.device == device.id:
                part = with_state(part, state.state, state.ohm)
        for element in part.elements:
            deck.element(element, device.id, device.door)
        for rule in part.rules:
            deck.rule(rule, device.id, device.door)
    written = {line.split()[0] for line in deck.lines}
    for name, node in deck.seen.items():
        if not {f"V{node}", f"S{node}"} & written:
            deck.stands(name)  # the door's own and the site's
    deck.lines += [f"Cs{n} n{n} 0 {STRAY_F} IC=0" for n in range(1, sample.nodes)]
    return deck


def terminals(wiring: Wiring, device: str) -> list[str]:
    """Every name that a part's elements and rules end at."""
    found = []
    part = wiring.plan.devices[device].part
    for thing in (*part.elements, *part.rules):
        for side in ("a", "b", "plus", "minus", "anode", "cathode"):
            if isinstance(name := getattr(thing, side, None), str):
                found.append(f"{device}.{name}")
    return found
