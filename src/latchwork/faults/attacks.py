"""Attacks from outside: the outside unit is off the wall and its cores are in somebody's hand.

With nobody else at the door: every way to join its cores into groups (all partitions up to six
cores; above that every single group and every two disjoint pairs), and a 9, 12 or 24 V battery
across any two, both ways round, nothing joined. Each at a touch, and left so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from latchwork.behaviour import LockState, climate_of, new_work
from latchwork.behaviour.network import PlacedElement, Things, network, values
from latchwork.behaviour.script import script
from latchwork.behaviour.situations import DoorInputs, Event, Mode, Power, Situation
from latchwork.elements import (
    TRUE,
    Contact,
    Diode,
    Figure,
    Flag,
    Fuse,
    Input,
    Load,
    Rail,
    Resistor,
    Rule,
    Source,
    SourceShape,
)
from latchwork.faults.consequences import Cases, DoorFacts, door_facts
from latchwork.faults.engine import Cell, names, solve_edits
from latchwork.faults.joins import bell, joins
from latchwork.faults.listing import ENDLESS, GONE_A, SHORT_OHM
from latchwork.faults.looks import Looks
from latchwork.faults.model import Attack, AttackReport, AttackResult, Counts, Coverage, Edit
from latchwork.faults.prepare import Prepared
from latchwork.faults.reasons import named, whys
from latchwork.wiring import Wiring

BATTERIES_V = (9.0, 12.0, 24.0)
BATTERY_OHM = 1.0
"""A small block battery (common practice, no source)."""
SITUATIONS = tuple(
    Situation(power, Mode.NORMAL, Event.NOBODY)
    for power in (Power.MAINS, Power.BATTERY, Power.BATTERY_END)
)
OUTSIDE = ("outside", "weather")
TOUCH = "hand:touches"
"""Set where cores are joined or a battery is put to them."""
READ = "read"
"""How flags of a reader port begin that say that a card was read."""


def attacks(
    wiring: Wiring,
    cells: Sequence[Prepared],
    doors: frozenset[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> AttackReport:
    """Every attack on every door of ``cells`` (or on ``doors``)."""
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    todo = [
        (cell, d)
        for cell in cells
        for d, door in enumerate(cell.cell.doors)
        if doors is None or door in doors
    ]
    todo.sort(key=lambda each: rank[each[0].cell.doors[each[1]]])
    opened: list[AttackResult] = []
    coverage: list[Coverage] = []
    counts = Counts()
    for done, (cell, d) in enumerate(todo, start=1):
        tried = _Door(wiring, cell, d)
        opened += tried.opened()
        coverage.append(tried.coverage())
        counts += tried.counts
        if progress is not None:
            progress(done, len(todo))
    return AttackReport(tuple(opened), tuple(coverage), counts)


def units_outside(wiring: Wiring, door: str) -> list[str]:
    """Devices of a door that are on the unsecure side and have wires."""
    used = {n.rpartition(".")[0] for n in _ends(wiring)}
    devices = wiring.plan.doors[door].devices.values()
    return [
        d
        for d in dict.fromkeys(devices)
        if d in used and wiring.plan.devices[d].place in OUTSIDE and d not in wiring.plan.supplies
    ]


def ends_in_hand(wiring: Wiring, unit: str) -> tuple[str, ...]:
    """The unit's terminals that have a core on them: what is in hand once it is off the wall."""
    met = set(_ends(wiring))
    terminals = (f"{unit}.{t.name}" for t in wiring.plan.devices[unit].part.terminals)
    return tuple(name for name in terminals if name in met)


def _ends(wiring: Wiring) -> Iterator[str]:
    for core in wiring.conductors:
        yield from (core.start, core.end)
    for lead in wiring.leads:
        yield from (lead.start, lead.end)


@dataclass(frozen=True, slots=True)
class _Rig:
    """A door's network with a place for everything that is done to one unit's cores."""

    cell: Cell
    facts: DoorFacts
    contacts: frozenset[str]


class _Door:
    """All attacks on one door."""

    def __init__(self, wiring: Wiring, cell: Prepared, d: int) -> None:
        self._wiring, self._cell, self._d = wiring, cell, d
        self._door = cell.cell.doors[d]
        self._units = units_outside(wiring, self._door) if cell.facts[d].bolts else []
        self._ends = {unit: ends_in_hand(wiring, unit) for unit in self._units}
        self._tried: list[Attack] = []
        self._without_tools = 0
        self.counts = Counts()

    def opened(self) -> Iterator[AttackResult]:
        """What opens the door."""
        if not self._cell.facts[self._d].bolts:
            return
        yield from self._by_hand()
        for unit, ends in self._ends.items():
            attacks = list(_attacks(self._door, unit, ends))
            self._tried += attacks
            yield from self._off_the_wall(unit, ends, attacks)

    def coverage(self) -> Coverage:
        """What was tried."""
        joined = sum(1 for a in self._tried if a.across is None)
        return Coverage(
            self._door,
            tuple(self._units),
            sum(len(ends) for ends in self._ends.values()),
            joined,
            sum(bell(len(ends)) for ends in self._ends.values()),
            len(self._tried) - joined,
            self._without_tools,
        )

    def _by_hand(self) -> Iterator[AttackResult]:
        """A sensor set off through a gap; the mains cut at an isolator outside until all is flat.

        The situations are among the door's own; a sound door is asked what it does in them.
        """
        asks = dict(self._asks())
        if not asks:
            return
        self._without_tools = len(set(asks.values()))
        cell, d = self._cell, self._d
        looks = Looks(solve_edits([cell.cell], [0], [()], cell.cell.scripts[d], new_work()))
        sound = looks.sound(cell.facts[d], 0)
        locked = sound.states[:, 0, cell.cases[d].nobody[0]]
        its = named(looks, cell.cell.network, cell.contacts, cell.facts[d].locks)
        for column, name in asks.items():
            free = (sound.states[:, 0, column] != LockState.LOCKED).all(axis=0)
            if free.any() and (locked == LockState.LOCKED).any():
                moment = int(free.argmax())
                before = sound.at(cell.cases[d].nobody[:1], [moment])
                at = [(0, column, moment)]
                (why,) = whys(looks, cell.facts[d], [its], [0], before, at)
                key = cell.cell.situations[d][column].key
                yield AttackResult(Attack(self._door, "", name), key, why)

    def _asks(self) -> Iterator[tuple[int, str]]:
        plan = self._wiring.plan
        planned = plan.doors[self._door]
        situations = self._cell.cell.situations[self._d]
        for n, s in enumerate(situations):
            if (s.power, s.mode) == (Power.MAINS, Mode.NORMAL) and s.event is Event.EXIT:
                slots = (s.which,) if s.which else ("exit", "second exit")
                names = [planned.devices.get(slot, "") for slot in slots]
                seen = planned.door.facts.get("sensor seen from outside") is True
                for name in names:
                    device = plan.devices.get(name)
                    if seen and device is not None and device.part.kind == "exit sensor":
                        yield n, f"set off {device.id} from outside"
            if s == Situation(Power.ALL_LOST, Mode.NORMAL, Event.NOBODY) and (
                plan.job.site.facts.get("isolator at") == "outside"
            ):
                yield n, "mains off at the isolator until the battery is flat"

    def _off_the_wall(
        self, unit: str, ends: Sequence[str], attacks: Sequence[Attack]
    ) -> Iterator[AttackResult]:
        rig = self._rig(ends)
        gone = tuple(_gone(self._cell.sound, unit))
        done = [(*gone, *_edits(attack)) for attack in attacks]
        # Touched once all is at rest, so that an input that acts on a change sees one; and left so,
        # through outages and all.
        edits = [(), *done, *((*its, Edit("flag", TOUCH, 1.0)) for its in done)]
        work = new_work()
        looks = Looks(solve_edits([rig.cell], [0] * len(edits), edits, rig.cell.scripts[0], work))
        self.counts += looks.counts(rig.facts, Cases(SITUATIONS), (), slice(0, len(edits)))
        self.counts += Counts(
            eliminations=work.eliminations,
            newton_steps=work.newton_steps,
            reductions=work.reductions,
        )
        free = (looks.states(rig.facts) != LockState.LOCKED).all(axis=0)
        hits = free & ~free[0].any(axis=1)[:, None]
        sound = looks.sound(rig.facts, 0)
        its = named(looks, rig.cell.network, rig.contacts, rig.facts.locks)
        for n, attack in enumerate(attacks, start=1):
            at = n if hits[n].any() else n + len(attacks)
            if hits[at].any():
                column = int(hits[at].any(axis=1).argmax())
                moment = int(hits[at, column].argmax())
                before = sound.at([column], [moment])
                (why,) = whys(looks, rig.facts, [its], [0], before, [(at, column, moment)])
                yield AttackResult(attack, SITUATIONS[column].key, why)

    def _rig(self, ends: Sequence[str]) -> _Rig:
        """The cell with places between all ends, and a battery in somebody's hand."""
        door, plan = self._door, self._wiring.plan
        places = [_touching(f"join {a} {b}", a, b, door) for a, b in combinations(ends, 2)]
        places += [
            _touching(f"{pole} {end}", f"hand {pole}", end, door)
            for end in ends
            for pole in ("plus", "minus")
        ]
        nothing = Figure(0.0, 0.0, 0.0)
        ohm = Figure(BATTERY_OHM, BATTERY_OHM, BATTERY_OHM)
        block = Source("block", "+", "-", nothing, ohm, None, SourceShape.BREAKS_DOWN)
        hand = PlacedElement("hand.block", "hand plus", "hand minus", block, door, "hand", TRUE)
        things = self._cell.sound
        whole = replace(
            things,
            elements=(*things.elements, hand, *places),
        )
        built = network(whole)
        its = script(built, DoorInputs(plan, door, self._cell.supplies), SITUATIONS)
        touch = ((built.flags[TOUCH], True),) if TOUCH in built.flags else ()
        its = replace(its, columns=tuple((stage, touch, False) for stage, _, _ in its.columns))
        numbers = values(whole, self._cell.case, climate_of(plan))
        cell = Cell(
            built,
            numbers,
            names(built),
            self._cell.cell.curves,
            (),
            (door,),
            (its,),
            (SITUATIONS,),
        )
        return _Rig(cell, door_facts(plan, door, built), self._cell.contacts)


def _touching(name: str, a: str, b: str, door: str) -> PlacedElement:
    """A place where somebody's hand may join two nodes, which nothing does before."""
    touch = Flag(TOUCH)
    return PlacedElement(name, a, b, Contact(name, a, b, touch, ENDLESS), door, "hand", touch)


def _attacks(door: str, unit: str, ends: Sequence[str]) -> Iterator[Attack]:
    for groups in joins(ends):
        name = " and ".join(f"({', '.join(_short(e) for e in g)})" for g in groups)
        yield Attack(door, unit, f"join {name}" if name else "off the wall", groups)
    for one, other in combinations(ends, 2):
        for volts in BATTERIES_V:
            for plus, minus in ((one, other), (other, one)):
                name = f"{volts:g} V from {_short(plus)} to {_short(minus)}"
                yield Attack(door, unit, name, (), (plus, minus), volts)


def _short(end: str) -> str:
    return end.rpartition(".")[2]


def _gone(things: Things, unit: str) -> Iterable[Edit]:
    """The unit off the wall: nothing of it is left on its cores."""
    for element in things.elements:
        if element.device != unit:
            continue
        match element.what:
            case Resistor() | Contact() | Fuse():
                yield Edit("ohm", element.name, math.inf)
            case Load():
                yield Edit("load", element.name, 0.0)
            case Rail():
                yield Edit("rail", element.name, math.inf)
            case Diode():
                yield Edit("diode", element.name, GONE_A)
            case Source():
                yield Edit("source volt", element.name, 0.0)
    for rule in things.rules:
        if isinstance(rule.what, Input) and rule.flag == f"{unit}.dead":
            yield Edit("flag", rule.flag, 1.0)
        # Levels on data lines stand for a card where one is shown; cores put together send no bits.
        if isinstance(rule.what, Rule) and rule.what.flag.startswith(READ):
            yield Edit("flag", rule.flag, 0.0)


def _edits(attack: Attack) -> Iterator[Edit]:
    for first, *others in attack.groups:
        for other in others:
            yield Edit("ohm", f"join {first} {other}", SHORT_OHM)
    if attack.across is not None:
        plus, minus = attack.across
        yield Edit("source volt", "hand.block", attack.volts)
        yield Edit("ohm", f"plus {plus}", SHORT_OHM)
        yield Edit("ohm", f"minus {minus}", SHORT_OHM)
