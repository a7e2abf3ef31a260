"""Leaks that were found, as far as they take current all the time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from latchwork.behaviour import Group, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.power.nets import Contacts, Feed, Nets, feeds
from latchwork.power.standby import holds_without
from latchwork.rules.rule import Rule
from latchwork.rules.view import View


def steady_leak(view: View) -> Iterator[Finding]:
    """A leak that lies across a supply while nobody is about: what it takes, and what hours on
    battery it costs. One behind a contact that is open then takes nothing."""
    bridges = {bridge.id: bridge for bridge in view.site.wiring.bridges}
    batteries = {battery.supply: battery for battery in view.batteries}
    loads = {load.id: load for load in view.loads}
    told: set[str] = set()
    for group in view.site.groups:
        for name, supply in _across(view, group, frozenset(bridges)):
            bridge, load = bridges[name], loads[supply]
            ohm = bridge.ohm.value
            leak_a = load.volts / ohm if ohm else math.inf
            idle_a = load.loads_a.get(f"{Power.MAINS}/{Mode.NORMAL}", 0.0)
            # Behind a blown fuse, or of so little resistance that the supply gives up.
            if leak_a > idle_a or load.dead:
                continue
            ends = [end.partition("~")[0] for end in (bridge.a, bridge.b)]
            subject, other = ends if ends[0] not in told else reversed(ends)
            told.add(subject)
            figures: dict[str, float | str] = {
                "leak_ohm": ohm,
                "leak_a": leak_a,
                "idle_a": idle_a,
                "other": other,
                "supply": supply,
            }
            battery = batteries.get(supply)
            if battery is not None:
                without_h = holds_without(battery, ohm)
                hours = {"holds_h": battery.holds_h, "without_h": without_h}
                figures |= {"also": "on battery", **hours}
            yield Finding("steady-leak", subject, Severity.NOTE, "", figures, "model")


def _across(view: View, group: Group, leaks: frozenset[str]) -> Iterator[tuple[str, str]]:
    """The leaks that join a supply's plus to its minus at rest, each with that supply."""
    wires = group.things.conductors
    found = [wire for wire in wires if wire.name in leaks]
    if not found:
        return
    copper = tuple(wire for wire in wires if wire.name not in leaks)
    sound = replace(group, things=replace(group.things, conductors=copper))
    sources = [f for f in feeds(group) if f.device in group.supplies]
    nets = _at_rest(view, sound, sources)
    sources = [f for f in sources if not nets.joined(f.plus, f.minus)]
    for wire in found:
        for plus, minus in ((wire.a, wire.b), (wire.b, wire.a)):
            by = (
                f.device
                for f in sources
                if nets.joined(plus, f.plus) and nets.joined(minus, f.minus)
            )
            if (supply := next(by, None)) is not None:
                yield wire.name, supply


def _at_rest(view: View, group: Group, sources: Sequence[Feed]) -> Nets:
    """What is joined in healthy idle: relays are up whose coils then hang across a supply."""
    relays = [e.device for e in group.things.elements if e.device in view.plan.devices]
    relays = [d for d in dict.fromkeys(relays) if view.part(d).kind == "relay"]
    moved: set[str] = set()
    while True:
        nets = Nets(view.plan, group, Contacts.REST, moved=moved)
        up = {d for d in relays if any(_fed(view, nets, d, f) for f in sources)}
        # One that its own contact lets drop goes to and fro, and is looked at once.
        if up <= moved:
            return nets
        moved |= up


def _fed(view: View, nets: Nets, relay: str, feed: Feed) -> bool:
    ends = [view.node(f"{relay}.{end}") for end in ("A1", "A2")]
    plus, minus = ([nets.joined(end, pole) for end in ends] for pole in (feed.plus, feed.minus))
    return (plus[0] and minus[1]) or (plus[1] and minus[0])


RULES: tuple[Rule, ...] = (Rule(("steady-leak",), "model", steady_leak),)
