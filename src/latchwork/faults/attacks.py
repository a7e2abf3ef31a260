"""Attacks from outside: the outside unit is off the wall and its cores are in somebody's hand.

With nobody else at the door: every way to join its cores into groups (all partitions up to six
cores; above that every single group and every two disjoint pairs), and a 9, 12 or 24 V battery
across any two, both ways round, nothing joined.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from latchwork.behaviour import Case, LockState, climate_of
from latchwork.behaviour.network import PlacedConductor, PlacedElement, Things, network, values
from latchwork.behaviour.run import Solved
from latchwork.behaviour.script import script
from latchwork.behaviour.situations import DoorInputs, Event, Mode, Power, Situation
from latchwork.circuit import Work
from latchwork.elements import (
    TRUE,
    Contact,
    Diode,
    Figure,
    Fuse,
    Input,
    Load,
    Rail,
    Resistor,
    Source,
    SourceShape,
)
from latchwork.faults.consequences import DoorFacts, door_facts, lock_states
from latchwork.faults.engine import Cell, names, solve_edits
from latchwork.faults.listing import ENDLESS, GONE_A, SHORT_OHM
from latchwork.faults.model import Edit
from latchwork.faults.run import Prepared
from latchwork.wiring import Wiring

BATTERIES_V = (9.0, 12.0, 24.0)
BATTERY_OHM = 1.0
"""A small block battery (common practice, no source)."""
ALL_PARTITIONS = 6
SITUATIONS = tuple(
    Situation(power, Mode.NORMAL, Event.NOBODY)
    for power in (Power.MAINS, Power.BATTERY, Power.BATTERY_END)
)
OUTSIDE = ("outside", "weather")


@dataclass(frozen=True, slots=True)
class Attack:
    """One thing done from outside. ``cores`` are the ends in hand; ``groups`` those joined;
    ``volts`` of a battery from the first of ``across`` to the second."""

    door: str
    unit: str
    name: str
    groups: tuple[tuple[str, ...], ...] = ()
    across: tuple[str, str] | None = None
    volts: float = 0.0


@dataclass(frozen=True, slots=True)
class AttackResult:
    """An attack that opened the door, and in which situation."""

    attack: Attack
    situation: str


@dataclass(frozen=True, slots=True)
class AttackReport:
    """What was tried and what opened. ``tried`` and ``of`` by door: joins tried, of all there
    are."""

    opened: tuple[AttackResult, ...]
    tried: dict[str, int]
    of: dict[str, int]
    points: int
    unsolved: int


def partitions(items: Sequence[str]) -> Iterator[tuple[tuple[str, ...], ...]]:
    """Every partition of ``items`` into groups, as restricted growth strings run."""

    def grow(n: int, groups: list[list[str]]) -> Iterator[tuple[tuple[str, ...], ...]]:
        if n == len(items):
            yield tuple(tuple(g) for g in groups if len(g) > 1)
            return
        for group in groups:
            group.append(items[n])
            yield from grow(n + 1, groups)
            group.pop()
        groups.append([items[n]])
        yield from grow(n + 1, groups)
        groups.pop()

    yield from grow(0, [])


def joins(items: Sequence[str]) -> Iterator[tuple[tuple[str, ...], ...]]:
    """The ways of joining that are tried for these cores."""
    if len(items) <= ALL_PARTITIONS:
        yield from partitions(items)
        return
    yield ()
    for size in range(2, len(items) + 1):
        for group in combinations(items, size):
            yield (group,)
    for one in combinations(items, 2):
        for other in combinations([i for i in items if i not in one], 2):
            if one < other:
                yield (one, other)


def bell(count: int) -> int:
    """How many partitions a set of ``count`` things has (Bell's numbers)."""
    row = [1]
    for _ in range(count - 1):
        fresh = [row[-1]]
        for value in row:
            fresh.append(fresh[-1] + value)
        row = fresh
    return row[-1]


def units_outside(wiring: Wiring, door: str) -> list[str]:
    """Devices of a door that are on the unsecure side and have wires."""
    used = {n.rsplit(".", 1)[0] for c in wiring.conductors for n in (c.start, c.end)}
    used |= {n.rsplit(".", 1)[0] for lead in wiring.leads for n in (lead.start, lead.end)}
    devices = wiring.plan.doors[door].devices.values()
    return [
        d
        for d in dict.fromkeys(devices)
        if d in used and wiring.plan.devices[d].place in OUTSIDE and d not in wiring.plan.supplies
    ]


def ends_in_hand(wiring: Wiring, unit: str) -> tuple[str, ...]:
    """The unit's terminals that have a core on them: what is in hand once it is off the wall."""
    part = wiring.plan.devices[unit].part
    met = {n for c in wiring.conductors for n in (c.start, c.end)}
    met |= {n for lead in wiring.leads for n in (lead.start, lead.end)}
    found = (f"{unit}.{t.name}" for t in part.terminals)
    return tuple(name for name in found if name in met)


def attack_door(
    wiring: Wiring, cell: Prepared, door: str, work: Work
) -> tuple[list[AttackResult], int, int, int, int]:
    """Every attack on one door: what opened, joins tried, joins there are, points, unsolved."""
    opened = list(_without_tools(wiring, cell, door, work))
    tried = of = points = unsolved = 0
    for unit in units_outside(wiring, door):
        ends = ends_in_hand(wiring, unit)
        attacks = list(_attacks(door, unit, ends))
        tried += sum(1 for a in attacks if a.across is None)
        of += bell(len(ends)) if ends else 0
        solved, facts = _solve(wiring, cell, door, unit, ends, attacks, work)
        states = lock_states(solved, facts)
        done = solved.all_solved()
        points += done.size
        unsolved += int((~done).sum())
        free = (states != LockState.LOCKED).all(axis=0).any(axis=2)
        sound_locked = ~free[0]
        for n, attack in enumerate(attacks, start=1):
            hit = free[n] & sound_locked
            if hit.any():
                opened.append(AttackResult(attack, SITUATIONS[int(hit.argmax())].key))
    return opened, tried, of, points, unsolved


def _without_tools(wiring: Wiring, cell: Prepared, door: str, work: Work) -> Iterator[AttackResult]:
    """A sensor set off through a gap, the mains cut at an isolator outside until all is flat."""
    job = wiring.plan.job
    planned = wiring.plan.doors[door]
    asks: dict[Situation, str] = {}
    if planned.door.facts.get("sensor seen from outside") is True:
        for slot in ("exit", "second exit"):
            device = wiring.plan.devices.get(planned.devices.get(slot, ""))
            if device is not None and device.part.kind == "exit sensor":
                asks |= dict.fromkeys(_exit_asked(cell, door, slot), f"set off {device.id}")
    if job.site.facts.get("isolator at") == "outside":
        dark = Situation(Power.ALL_LOST, Mode.NORMAL, Event.NOBODY)
        asks[dark] = "mains off at the isolator until the battery is flat"
    if not asks:
        return
    d = cell.cell.doors.index(door)
    solved = solve_edits([cell.cell], [0], [()], cell.cell.scripts[d], work)
    states = lock_states(solved, cell.facts[d])
    for situation, name in asks.items():
        column = cell.cell.situations[d].index(situation)
        if (states[:, 0, column] != LockState.LOCKED).all(axis=0).any():
            yield AttackResult(Attack(door, "", name), situation.key)


def _exit_asked(cell: Prepared, door: str, slot: str) -> list[Situation]:
    cases = cell.cell.situations[cell.cell.doors.index(door)]
    return [
        s
        for s in cases
        if (s.power, s.mode, s.event) == (Power.MAINS, Mode.NORMAL, Event.EXIT)
        and s.which in ("", slot)
    ]


def _attacks(door: str, unit: str, ends: Sequence[str]) -> Iterator[Attack]:
    for groups in joins(ends):
        name = " and ".join("+".join(e.rsplit(".", 1)[1] for e in g) for g in groups)
        yield Attack(door, unit, f"join {name}" if name else "off the wall", groups)
    for one, other in combinations(ends, 2):
        for volts in BATTERIES_V:
            for plus, minus in ((one, other), (other, one)):
                short = f"{plus.rsplit('.', 1)[1]} to {minus.rsplit('.', 1)[1]}"
                yield Attack(door, unit, f"{volts:g} V, {short}", (), (plus, minus), volts)


def _solve(
    wiring: Wiring,
    cell: Prepared,
    door: str,
    unit: str,
    ends: Sequence[str],
    attacks: Sequence[Attack],
    work: Work,
) -> tuple[Solved, DoorFacts]:
    places = [
        PlacedConductor(f"join {a} {b}", a, b, ENDLESS, False, door)
        for a, b in combinations(ends, 2)
    ]
    places += [
        PlacedConductor(f"{pole} {end}", f"hand {pole}", end, ENDLESS, False, door)
        for end in ends
        for pole in ("plus", "minus")
    ]
    nothing = Figure(0.0, 0.0, 0.0)
    ohm = Figure(BATTERY_OHM, BATTERY_OHM, BATTERY_OHM)
    block = Source("block", "+", "-", nothing, ohm, None, SourceShape.BREAKS_DOWN)
    hand = PlacedElement("hand.block", "hand plus", "hand minus", block, door, "hand", TRUE)
    things = cell.sound
    whole = Things(
        (*things.elements, hand),
        things.rules,
        things.conductors + tuple(places),
        things.reference,
        things.curve,
    )
    built = network(whole)
    inputs = DoorInputs(wiring.plan, door, cell.supplies)
    its = script(built, inputs, SITUATIONS)
    ready = Cell(
        built,
        values(whole, Case.NOMINAL, climate_of(wiring.plan)),
        names(built),
        cell.cell.curves,
        (),
        (door,),
        (its,),
        (SITUATIONS,),
    )
    gone = tuple(_gone(things, unit))
    edits = [(), *(gone + tuple(_edits(attack)) for attack in attacks)]
    solved = solve_edits([ready], [0] * len(edits), edits, its, work)
    return solved, door_facts(wiring.plan, door, built)


def _gone(things: Things, unit: str) -> Iterator[Edit]:
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


def _edits(attack: Attack) -> Iterator[Edit]:
    for group in attack.groups:
        first = group[0]
        for other in group[1:]:
            yield Edit("ohm", f"join {first} {other}", SHORT_OHM)
    if attack.across is not None:
        plus, minus = attack.across
        yield Edit("source volt", "hand.block", attack.volts)
        yield Edit("ohm", f"plus {plus}", SHORT_OHM)
        yield Edit("ohm", f"minus {minus}", SHORT_OHM)


def attacks(wiring: Wiring, cells: Sequence[Prepared]) -> AttackReport:
    """Every attack on every door of ``cells``."""
    work = Work()
    opened: list[AttackResult] = []
    tried: dict[str, int] = {}
    of: dict[str, int] = {}
    points = unsolved = 0
    for cell in cells:
        for door in cell.cell.doors:
            found, tried[door], of[door], more, left = attack_door(wiring, cell, door, work)
            opened += found
            points += more
            unsolved += left
    return AttackReport(tuple(opened), tried, of, points, unsolved)
