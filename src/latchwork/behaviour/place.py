"""Everything of a site in its place: parts' elements and rules with full names, cores as
resistances; then apart into groups that share a circuit or a signal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from latchwork.behaviour.network import (
    LEAST_OHM,
    PlacedConductor,
    PlacedElement,
    PlacedRule,
    Things,
    full_flag,
    full_names,
)
from latchwork.elements import (
    TRUE,
    Bolt,
    Const,
    Contact,
    Diode,
    Element,
    Expr,
    Figure,
    Fuse,
    Input,
    Latch,
    Load,
    Rail,
    Resistor,
    ResistorRole,
    Rule,
    Sense,
    Source,
    StateRule,
    Timer,
    expr_flags,
)
from latchwork.parts import Part, with_state
from latchwork.wiring import PartState, Wiring, merged
from latchwork.wiring.union import Union

NOTHING_OHM = Figure(LEAST_OHM, LEAST_OHM, LEAST_OHM)
"""A lead, where it is a wire of its own."""


@dataclass(frozen=True, slots=True)
class Group:
    """Things that share a circuit. ``doors`` in the order of the job, ``supplies`` likewise."""

    things: Things
    doors: tuple[str, ...]
    supplies: tuple[str, ...]


def ends(element: Element) -> tuple[str, str]:
    """The two terminals of an element, the positive one first where it has one."""
    match element:
        case Resistor(a=a, b=b) | Contact(a=a, b=b) | Fuse(a=a, b=b):
            return a, b
        case Diode(anode=a, cathode=b):
            return a, b
        case Rail(plus=a, minus=b) | Source(plus=a, minus=b) | Load(plus=a, minus=b):
            return a, b


def _gate(element: Element) -> Expr:
    match element:
        case Contact(closed=closed):
            return closed
        case Resistor(on=on) | Rail(on=on) | Source(on=on) | Load(on=on):
            return on
        case Diode() | Fuse():
            return TRUE


def _exprs(rule: StateRule) -> tuple[Expr, ...]:
    match rule:
        case Input():
            return ()
        case Sense(needs=needs) | Bolt(needs=needs):
            return (needs,)
        case Rule(when=when):
            return (when,)
        case Latch(set_by=set_by, reset_by=reset_by):
            return (set_by, reset_by)
        case Timer(start=start, clear=clear):
            return (start, clear)


def place_part(
    part: Part, device: str, door: str, nodes: Mapping[str, str]
) -> tuple[list[PlacedElement], list[PlacedRule]]:
    """The elements and rules of one device, named by ``device`` and joined at ``nodes``."""

    def node(terminal: str) -> str:
        name = f"{device}.{terminal}"
        return nodes.get(name, name)

    elements = []
    for element in part.elements:
        a, b = ends(element)
        gate = full_names(_gate(element), device, door)
        elements.append(
            PlacedElement(f"{device}.{element.name}", node(a), node(b), element, door, device, gate)
        )
    rules = []
    for rule in part.rules:
        a = b = ""
        if isinstance(rule, Sense | Bolt):
            a, b = node(rule.a), node(rule.b)
        exprs = tuple(full_names(e, device, door) for e in _exprs(rule))
        rules.append(PlacedRule(full_flag(rule.flag, device, door), rule, a, b, exprs))
    return elements, rules


def things(wiring: Wiring, *, leads_apart: bool = False) -> Things:
    """The whole site as one set of things, deviations included.

    ``leads_apart``: every lead is a wire of its own, so that it can break; else its ends are one
    node.
    """
    nodes: Mapping[str, str] = {} if leads_apart else merged(wiring)
    elements: list[PlacedElement] = []
    rules: list[PlacedRule] = []
    states: dict[str, list[PartState]] = defaultdict(list)
    for state in wiring.states:
        states[state.device].append(state)
    for device in wiring.plan.devices.values():
        part = device.part
        for state in states[device.id]:
            part = with_state(part, state.state, state.ohm)
        more, logic = place_part(part, device.id, device.door, nodes)
        elements += more
        rules += logic
    warm = {name: cable.temperature_c for name, cable in wiring.plan.cables.items()}
    wires = [
        replace(
            _wire(core.id, core.start, core.end, core.ohm, True, core.door, nodes),
            temperature_c=warm.get(core.cable),
        )
        for core in wiring.conductors
    ]
    for lead in wiring.leads:
        ohm = lead.ohm or (NOTHING_OHM if leads_apart else None)
        if ohm is not None:
            wires.append(_wire(lead.id, lead.start, lead.end, ohm, False, lead.door, nodes))
    wires += [_wire(b.id, b.a, b.b, b.ohm, False, b.door, nodes) for b in wiring.bridges]
    return Things(tuple(elements), tuple(rules), tuple(wires), "")


def _wire(
    name: str, a: str, b: str, ohm: Figure, copper: bool, door: str, nodes: Mapping[str, str]
) -> PlacedConductor:
    return PlacedConductor(name, nodes.get(a, a), nodes.get(b, b), ohm, copper, door)


class _Reads:
    """Which flags expressions read, looked up once for each expression."""

    def __init__(self) -> None:
        self._known: dict[int, tuple[str, ...]] = {}

    def flags(self, expr: Expr) -> tuple[str, ...]:
        """The flags that ``expr`` reads; it lives as long as this does."""
        if isinstance(expr, Const):
            return ()
        known = self._known.get(id(expr))
        if known is None:
            known = self._known[id(expr)] = expr_flags(expr)
        return known


def apart(whole: Things, cut: frozenset[str] = frozenset()) -> list[Things]:
    """``whole`` in parts that share neither a circuit, a signal nor a door, in order of first
    mention.

    ``cut`` names nodes that do not join what meets there. Inputs from the world (buttons, mains,
    fire alarm) join nothing.
    """
    joined = Union()
    world = {r.flag for r in whole.rules if isinstance(r.what, Input)}
    own = {r.flag for r in whole.rules} - world
    reads = _Reads()

    def join(thing: str, nodes: Iterable[str], door: str, exprs: Iterable[Expr]) -> None:
        for node in nodes:
            if node and node not in cut:
                joined.join(thing, node)
        if door:
            # All of a door is judged as one: a second lock joined to nothing still holds it.
            joined.join(thing, f"door {door}")
        for expr in exprs:
            for name in reads.flags(expr):
                if name in own:
                    joined.join(thing, f"flag {name}")

    for wire in whole.conductors:
        join(f"thing {wire.name}", (wire.a, wire.b), wire.door, ())
    for item in whole.elements:
        join(f"thing {item.name}", (item.a, item.b), item.door, (item.on,))
    for rule in whole.rules:
        if rule.flag not in world:
            join(f"flag {rule.flag}", (rule.a, rule.b), "", rule.exprs)

    parts: dict[str, Things] = {}
    elements: dict[str, list[PlacedElement]] = defaultdict(list)
    rules: dict[str, list[PlacedRule]] = defaultdict(list)
    wires: dict[str, list[PlacedConductor]] = defaultdict(list)
    seen: dict[str, None] = {}
    readers: dict[str, list[str]] = defaultdict(list)
    for wire in whole.conductors:
        key = joined.find(f"thing {wire.name}")
        seen[key] = None
        wires[key].append(wire)
    for item in whole.elements:
        key = joined.find(f"thing {item.name}")
        seen[key] = None
        elements[key].append(item)
        for name in reads.flags(item.on):
            readers[name].append(key)
        if isinstance(item.what, Source) and item.what.low_when is not None:
            for name in expr_flags(full_names(item.what.low_when, item.device, item.door)):
                readers[name].append(key)
    for rule in whole.rules:
        if rule.flag in world:
            continue
        key = joined.find(f"flag {rule.flag}")
        seen[key] = None
        rules[key].append(rule)
        for expr in rule.exprs:
            for name in reads.flags(expr):
                readers[name].append(key)
    for rule in whole.rules:
        if rule.flag in world:
            for key in dict.fromkeys(readers[rule.flag]):
                rules[key].append(rule)
    for key in seen:
        parts[key] = Things(tuple(elements[key]), tuple(rules[key]), tuple(wires[key]), "", None)
    return list(parts.values())


def groups(wiring: Wiring, *, leads_apart: bool = False) -> tuple[Group, ...]:
    """The site apart into groups that can be solved alone; ``leads_apart`` as in ``things``."""
    plan = wiring.plan
    whole = things(wiring, leads_apart=leads_apart)
    users: dict[str, list[str]] = defaultdict(list)
    for door_id, door in plan.doors.items():
        for device_id in door.devices.values():
            users[device_id].append(door_id)
    rank = {door_id: n for n, door_id in enumerate(plan.doors)}
    parts = apart(whole)
    # A door is solved where its own things are: a shared device it is not joined to is elsewhere.
    settled = {door for part in parts for door in _owners(part)}
    out = []
    for part in parts:
        feeds = list(dict.fromkeys(i.device for i in part.elements if isinstance(i.what, Source)))
        nodes = alternating_nodes(part)
        if nodes:
            its = (_as_alternating(i) if i.a in nodes else i for i in part.elements)
            part = replace(part, elements=tuple(its))
        guests = {d for i in part.elements for d in users[i.device]} - settled
        owners = _owners(part) | guests
        settled |= guests
        doors = tuple(sorted(owners & rank.keys(), key=rank.__getitem__))
        out.append(Group(replace(part, reference=_reference(part)), doors, tuple(feeds)))
    return tuple(out)


def alternating_nodes(part: Things) -> frozenset[str]:
    """The nodes of the circuits that a source of alternating current feeds: one door may switch
    such a lock with a controller on direct current."""
    fed = [e.a for e in part.elements if isinstance(e.what, Source) and e.what.alternating]
    if not fed:
        return frozenset()
    joined = Union()
    branches = [(e.a, e.b) for e in part.elements] + [(c.a, c.b) for c in part.conductors]
    for a, b in branches:
        joined.join(a, b)
    circuits = {joined.find(node) for node in fed}
    return frozenset(n for ends in branches for n in ends if joined.find(n) in circuits)


def _owners(part: Things) -> set[str]:
    return ({c.door for c in part.conductors} | {e.door for e in part.elements}) - {""}


def _reference(part: Things) -> str:
    for item in part.elements:
        if isinstance(item.what, Source):
            return item.b
    names = [e.b for e in part.elements] + [c.b for c in part.conductors]
    names += [r.b for r in part.rules if r.b]
    return names[0] if names else "nothing"


def _as_alternating(item: PlacedElement) -> PlacedElement:
    """A coil on alternating current shows its impedance."""
    what = item.what
    if isinstance(what, Resistor) and what.impedance_ohm is not None:
        return replace(item, what=replace(what, ohm=what.impedance_ohm, role=ResistorRole.LOAD))
    return item


@dataclass(frozen=True, slots=True)
class Cells:
    """A group apart at its one supply: the supply's own things, and what hangs on it.

    Each of ``cells`` meets the supply at ``plus`` and ``minus`` and nowhere else.
    """

    plus: str
    minus: str
    hub: Things
    cells: tuple[Group, ...]


def cells(group: Group) -> Cells | None:
    """``group`` apart at its supply, or None where it does not come apart there (several supplies
    joined, or nothing but the supply)."""
    if len(group.supplies) != 1 or not group.doors:
        return None
    source = next(i for i in group.things.elements if isinstance(i.what, Source))
    plus, minus = source.a, source.b
    hub_elements: list[PlacedElement] = []
    hub_rules: list[PlacedRule] = []
    hub_wires: list[PlacedConductor] = []
    out: list[Group] = []
    for part in apart(group.things, frozenset((plus, minus))):
        owners = _owners(part)
        if any(isinstance(i.what, Source) for i in part.elements) or not owners:
            hub_elements += part.elements
            hub_rules += [r for r in part.rules if r not in hub_rules]
            hub_wires += part.conductors
            continue
        doors = tuple(d for d in group.doors if d in owners)
        out.append(Group(replace(part, reference=minus), doors, ()))
    if not out:
        return None
    hub = Things(tuple(hub_elements), tuple(hub_rules), tuple(hub_wires), minus)
    return Cells(plus, minus, hub, tuple(out))


def together(parts: Iterable[Things], reference: str) -> Things:
    """Several sets of things as one; rules (inputs) that both have stand once."""
    elements: list[PlacedElement] = []
    wires: list[PlacedConductor] = []
    rules: dict[str, PlacedRule] = {}
    for part in parts:
        elements += part.elements
        wires += part.conductors
        for rule in part.rules:
            rules.setdefault(rule.flag, rule)
    return Things(tuple(elements), tuple(rules.values()), tuple(wires), reference)
