"""Every single fault of a cell, from its own wiring; and the things with a place for each.

Places are branches that are not there in the sound network (an endless resistance): a short
between neighbours, a contact's weld. They let every fault of a cell be a change of numbers in
one shape.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, pairwise

from latchwork.behaviour.network import (
    PlacedConductor,
    PlacedElement,
    Things,
    full_flag,
    full_names,
)
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
    Load,
    Resistor,
    Rule,
    Sense,
    Source,
    StateRule,
    expr_flags,
)
from latchwork.faults.fed import Fed
from latchwork.faults.model import Edit, Fault, FaultKind, Reading
from latchwork.faults.runs_flat import on_battery, run_flat
from latchwork.parts import (
    CHARGER_DEAD,
    DEAD,
    DEAD_AND_FLAT,
    GIVES_LESS,
    Part,
    StateDef,
    in_every_state,
)
from latchwork.plan import Plan
from latchwork.wiring import Wiring
from latchwork.wiring.names import EARTH

SHORT_OHM = 0.05
JOINT_OHMS = (1.0, 10.0, 100.0)
ENDLESS = Figure(math.inf, math.inf, math.inf)
GONE_A = 1e-30
"""Saturation current of a diode that is open."""
REVERSED_OHM = 0.3
"""A diode the wrong way round, conducting some amperes (common practice, no source)."""
AT_REST = ("sensor blind", "stuck at rest")
DEAD_SOURCES = {
    DEAD: ("mains",),
    CHARGER_DEAD: ("battery_present",),
    "transformer dead": ("mains",),
    "port dead": ("network",),
}
PANEL_LOST = "site:panel_lost"


def _place(name: str, a: str, b: str, door: str) -> PlacedConductor:
    return PlacedConductor(name, a, b, ENDLESS, False, door)


@dataclass(frozen=True, slots=True)
class _Otherwise:
    """What of a part is otherwise in a state: elements by name (None: gone), resistors that it
    has besides, rules with what they are then."""

    state: StateDef
    elements: tuple[tuple[str, Element | None], ...]
    more: tuple[Resistor, ...]
    rules: tuple[tuple[StateRule, StateRule], ...]


def _otherwise_of(part: Part) -> Iterator[_Otherwise]:
    known = {e.name for e in part.elements}
    for state, after in in_every_state(part):
        if state.name == "missing":
            continue  # no fault that comes by itself
        changed = {e.name: e for e in after.elements}
        yield _Otherwise(
            state,
            tuple(
                (e.name, changed.get(e.name))
                for e in part.elements
                if changed.get(e.name) is not e and changed.get(e.name) != e
            ),
            tuple(e for e in after.elements if e.name not in known and isinstance(e, Resistor)),
            tuple(
                (rule, new)
                for rule, new in zip(part.rules, after.rules, strict=True)
                if rule is not new and rule != new
            ),
        )


class Known:
    """What the listings of one site share: its cores by id, shorts and leaks that were found, which
    are no joints, and the states of parts, worked out once for each part, as doors fitted alike
    have the same."""

    def __init__(self, wiring: Wiring) -> None:
        self.wiring = wiring
        self.cores = {core.id: core for core in wiring.conductors}
        self.bridges = {bridge.id for bridge in wiring.bridges}
        ends = [(wire.start, wire.end) for wire in wiring.conductors]
        ends += [(lead.start, lead.end) for lead in wiring.leads]
        self.wired = frozenset(chain.from_iterable(ends))
        self._known: dict[int, tuple[Part, tuple[_Otherwise, ...]]] = {}

    def states(self, part: Part) -> tuple[_Otherwise, ...]:
        """Every state of ``part``, and what is otherwise in it."""
        if id(part) not in self._known:
            self._known[id(part)] = part, tuple(_otherwise_of(part))
        return self._known[id(part)][1]


class Listing:
    """The faults of one cell and the things with places for them."""

    def __init__(self, known: Known, cell: Things, plus: str, minus: str) -> None:
        self._known = known
        self._wiring = known.wiring
        self._cell = cell
        self._fed = Fed(known.wiring, known.cores, cell, plus, minus)
        self._nodes = {n for wire in cell.conductors for n in (wire.a, wire.b)}
        self._places: list[PlacedConductor] = []
        self._bridged: set[str] = set()
        self._needs: dict[str, Expr] = {}
        """What senses and bolts need by their flags, where a fault may alter it."""
        self.faults: list[Fault] = []
        self._wires()
        self._neighbours()
        self._terminals()
        self._states()
        self._panel()

    def things(self, some: Sequence[Fault] | None = None) -> Things:
        """The cell with a place for each fault, or for ``some`` of them."""
        rules = tuple(
            replace(r, exprs=(self._needs[r.flag],)) if r.flag in self._needs else r
            for r in self._cell.rules
        )
        places = self._places
        if some is not None:
            used = {edit.name for fault in some for edit in fault.edits}
            places = [place for place in places if place.name in used]
        return replace(self._cell, rules=rules, conductors=(*self._cell.conductors, *places))

    def _add(
        self,
        kind: FaultKind,
        subjects: tuple[str, ...],
        *edits: Edit,
        state: str = "",
        ohm: float | None = None,
        seen_by_dc: bool = True,
        till_then: Reading | None = None,
    ) -> None:
        tail = f" {ohm:g}" if ohm is not None and kind is FaultKind.JOINT else ""
        name = f"{' '.join(subjects)} {state or kind.value}{tail}"
        its = Fault(name, kind, subjects, edits, state, ohm, seen_by_dc, till_then)
        self.faults.append(its)

    def _short(self, kind: FaultKind, subjects: tuple[str, ...], a: str, b: str, door: str) -> None:
        place = f"short {' '.join(subjects)} {kind.value}"
        self._places.append(_place(place, a, b, door))
        self._add(kind, subjects, Edit("ohm", place, SHORT_OHM), ohm=SHORT_OHM)

    def _wires(self) -> None:
        for wire in self._cell.conductors:
            if wire.name in self._known.bridges:
                continue
            self._add(FaultKind.OPEN, (wire.name,), Edit("ohm", wire.name, math.inf))
            for ohm in JOINT_OHMS:
                edit = Edit("ohm", wire.name, ohm, add=True)
                self._add(FaultKind.JOINT, (wire.name,), edit, ohm=ohm)
            if wire.name not in self._known.cores:
                continue
            for kind, node in self._poles(wire):
                if node not in (wire.a, wire.b, ""):
                    self._short(kind, (wire.name,), wire.b, node, wire.door)

    def _poles(self, wire: PlacedConductor) -> Iterator[tuple[FaultKind, str]]:
        """What a core may touch: the plus that feeds its door, behind its fuse, the minus; and
        earth, where another supply's minus is tied to it and its own is not."""
        plus, minus = self._fed.poles(wire)
        yield FaultKind.TO_PLUS, plus
        yield FaultKind.TO_MINUS, minus
        part = self._wiring.plan.supplies.get(minus.partition(".")[0])
        earthed = part is not None and part.device.part.facts.get("minus_earthed") is True
        if EARTH in self._nodes and not earthed:
            yield FaultKind.TO_EARTH, EARTH

    def _neighbours(self) -> None:
        """Cores that touch in the lay of their cable, joined at the end away from the supply."""
        here = {wire.name: wire for wire in self._cell.conductors}
        by_cable: dict[str, dict[str, str]] = defaultdict(dict)
        for name in here:
            core = self._known.cores.get(name)
            if core is not None:
                by_cable[core.cable][core.core] = name
        for cable, cores in by_cable.items():
            planned = self._wiring.plan.cables.get(cable)
            for one, other in planned.type.neighbours if planned else ():
                if one not in cores or other not in cores:
                    continue
                first, second = here[cores[one]], here[cores[other]]
                if first.b != second.b:
                    subjects = (first.name, second.name)
                    self._short(FaultKind.SHORT, subjects, first.b, second.b, first.door)

    def _terminals(self) -> None:
        """Screws next to each other on a part, where something is wired to both."""
        for device, part, door in self._devices():
            names = [f"{device}.{t.name}" for t in part.terminals]
            for one, other in pairwise(names):
                if one in self._nodes and other in self._nodes:
                    self._short(FaultKind.SHORT, (one, other), one, other, door)

    def _devices(self) -> Iterator[tuple[str, Part, str]]:
        plan: Plan = self._wiring.plan
        devices = dict.fromkeys(e.device for e in self._cell.elements)
        for device in devices:
            placed = plan.devices[device]
            yield device, placed.part, placed.door

    def _states(self) -> None:
        own = {e.name: e for e in self._cell.elements}
        for device, part, door in self._devices():
            inputs = {rule.flag for rule in part.rules if isinstance(rule, Input)}
            for its in self._known.states(part):
                state = its.state
                edits = tuple(self._edits(device, inputs, its, door, own))
                if edits and state.name != DEAD_AND_FLAT:
                    self._add(
                        FaultKind.STATE,
                        (device,),
                        *edits,
                        state=state.name,
                        seen_by_dc=state.seen_by_dc,
                    )
                if state.name == DEAD:
                    self._runs_flat(device, part)

    def _runs_flat(self, supply: str, part: Part) -> None:
        """What a supply that dies comes to where it leaves batteries to run flat."""
        flat = run_flat(self._cell, supply, part)
        if flat:
            edits = (Edit("flag", f"{each}.battery_present", 0.0) for each in flat)
            dead = Edit("flag", f"{supply}.mains", 0.0)
            till_then = on_battery(self._known.wired, supply, part, max(flat.values()))
            self._add(
                FaultKind.STATE, (supply,), dead, *edits, state=DEAD_AND_FLAT, till_then=till_then
            )

    def _panel(self) -> None:
        """The fire panel lost, as a fault that was there before anything happened."""
        exprs = [e.on for e in self._cell.elements]
        exprs += [e for rule in self._cell.rules for e in rule.exprs]
        if any(PANEL_LOST in expr_flags(e) for e in exprs):
            self._add(FaultKind.SITE, ("fire panel",), Edit("flag", PANEL_LOST, 1.0), state="lost")

    def _edits(
        self,
        device: str,
        inputs: Container[str],
        its: _Otherwise,
        door: str,
        own: Mapping[str, PlacedElement],
    ) -> Iterator[Edit]:
        """What a part's state changes in the numbers of its network."""
        state = its.state
        if state.about in inputs:
            value = state.name not in AT_REST
            yield Edit("flag", f"{device}.{state.about}", float(value))
            return
        if state.name in DEAD_SOURCES:
            for flag in DEAD_SOURCES[state.name]:
                yield Edit("flag", f"{device}.{flag}", 0.0)
            return
        if state.name == GIVES_LESS and any(name == "battery" for name, _ in its.elements):
            yield Edit("flag", f"{device}.battery_present", 0.0)
        for element, new in its.elements:
            name = f"{device}.{element}"
            if name in own:
                yield from self._element(own[name], new, door)
        for more in its.more:
            a, b = f"{device}.{more.a}", f"{device}.{more.b}"
            yield self._bridge(f"across {device}.{more.name}", a, b, more.ohm.value, door)
        for rule, then in its.rules:
            if isinstance(then, Bolt | Sense):
                yield self._otherwise(device, door, state.name, then)
            elif isinstance(then, Rule):
                needs = f"{device}.{then.when.name}" if isinstance(then.when, Flag) else ""
                yield Edit("flag", f"{device}.{rule.flag}", float(then.when != FALSE), needs=needs)

    def _otherwise(self, device: str, door: str, state: str, new: Bolt | Sense) -> Edit:
        """A place for what a coil or sense needs: as the state has it while a flag is set."""
        flag = f"fault:{device} {state}"
        own = full_flag(new.flag, device, door)
        old = self._needs.get(own) or next(r for r in self._cell.rules if r.flag == own).exprs[0]
        its = full_names(new.needs, device, door)
        self._needs[own] = (Flag(flag) & its) | (~Flag(flag) & old)
        return Edit("flag", flag, 1.0)

    def _element(self, old: PlacedElement, new: Element | None, door: str) -> Iterator[Edit]:
        name = old.name
        match old.what, new:
            case (Contact(), Contact(closed=closed, closed_ohm=ohm)):
                if closed == FALSE:
                    yield Edit("ohm", name, math.inf)
                elif closed == TRUE:
                    yield Edit("ohm", name, math.inf)
                    yield self._bridge(f"weld {name}", old.a, old.b, ohm.value, door)
            case (Fuse() | Resistor(), None):
                yield Edit("ohm", name, math.inf)
            case (Fuse(), Resistor()):
                yield Edit("fuse", name, math.inf)
            case (Resistor(), Resistor(ohm=ohm)):
                yield Edit("ohm", name, math.inf)
                yield self._bridge(f"across {name}", old.a, old.b, ohm.value, door)
            case (Diode(), Resistor(ohm=ohm)):
                yield Edit("diode", name, GONE_A)
                yield self._bridge(f"across {name}", old.a, old.b, ohm.value, door)
            case (Diode(), None):
                yield Edit("diode", name, GONE_A)
            case (Diode(), Diode()):
                yield self._bridge(f"across {name}", old.a, old.b, REVERSED_OHM, door)
            case (Load(), None):
                yield Edit("load", name, 0.0)
            case (Source(), None):
                yield Edit("source volt", name, 0.0)
            case (Source(), Source(volt=volt, ohm=ohm)):
                yield Edit("source volt", name, volt.value)
                yield Edit("source ohm", name, ohm.value)

    def _bridge(self, place: str, a: str, b: str, ohm: float, door: str) -> Edit:
        if place not in self._bridged:
            self._bridged.add(place)
            self._places.append(_place(place, a, b, door))
        return Edit("ohm", place, ohm)
