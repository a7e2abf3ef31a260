"""Attacks from outside: the outside unit is off the wall and its cores are in somebody's hand.

With nobody else at the door: every way to join its cores into groups (all partitions up to six
cores; above that every single group and every two disjoint pairs), and a 9, 12 or 24 V battery
across any two, both ways round, nothing joined. With two units off the wall, a core of the one
joined with a core of the other, or a battery across them. Each at a touch, and left so; held
against its own door and every other that it may open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, product

from latchwork.behaviour import Group, new_work
from latchwork.behaviour.passing import SENSOR, within_reach
from latchwork.behaviour.situations import Event, Mode, Power, Situation
from latchwork.faults.consequences import gives_way
from latchwork.faults.engine import solve_edits
from latchwork.faults.joins import bell, joins
from latchwork.faults.looks import Looks
from latchwork.faults.model import Attack, AttackReport, AttackResult, Counts, Coverage
from latchwork.faults.off_the_wall import Deed, Unit, along_the_supply, off_the_wall
from latchwork.faults.prepare import Prepared
from latchwork.faults.reasons import named, whys
from latchwork.plan.places import OUTSIDE
from latchwork.wiring import Wiring

BATTERIES_V = (9.0, 12.0, 24.0)


def attacks(
    wiring: Wiring,
    groups: Sequence[Group],
    cells: Sequence[Prepared],
    doors: frozenset[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> AttackReport:
    """Every attack on every door of ``cells`` (or on ``doors``), from the units of all of them.
    ``groups``: those that the cells are of."""
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    asked = frozenset(wiring.plan.doors) if doors is None else doors
    ends = frozenset(_ends(wiring))
    todo = [(cell, d) for cell in cells for d in range(len(cell.cell.doors))]
    todo.sort(key=lambda each: rank[each[0].cell.doors[each[1]]])
    opened: list[AttackResult] = []
    coverage: list[Coverage] = []
    counts = Counts()
    met: set[str] = set()
    pulled: dict[tuple[str, ...], list[tuple[Prepared, Deed]]] = {}
    for done, (cell, d) in enumerate(todo, start=1):
        door = cell.cell.doors[d]
        units = _units(wiring, door, ends) if cell.facts[d].bolts else []
        if door in asked:
            tools, found = _by_hand(wiring, cell, d)
            opened += found
            coverage.append(_covered(door, units, tools))
        reach = cell.group if cell.others_v else cell.cell.doors
        for unit in units if asked & set(reach) else ():
            if unit.id not in met:
                met.add(unit.id)
                its = off_the_wall(wiring.plan, cell, unit, asked)
                opened += its.opened
                counts += its.counts
                pulled.setdefault(cell.group, []).extend((cell, deed) for deed in its.pulled)
        if progress is not None:
            progress(done, len(todo))
    for group in groups:
        some = [
            (cell, deed)
            for cell, deed in pulled.get(group.doors, ())
            if asked & (set(group.doors) - set(deed.near))
        ]
        if some:
            deeds = [deed for _, deed in some]
            hits, more = along_the_supply(wiring.plan, some[0][0], group, deeds, asked)
            opened += hits
            counts += more
    opened = _not_more_than_needed(opened)
    opened.sort(key=lambda found: (rank[found.attack.door], _afar(wiring, found.attack)))
    return AttackReport(tuple(opened), tuple(coverage), counts)


def _afar(wiring: Wiring, attack: Attack) -> bool:
    """Whether the unit is another door's."""
    return bool(attack.unit) and wiring.plan.devices[attack.unit].door != attack.door


def _units(wiring: Wiring, door: str, met: frozenset[str]) -> list[Unit]:
    """What is on the unsecure side and has cores; ``met``: every terminal that has one."""
    plan = wiring.plan
    used = {end.rpartition(".")[0] for end in met}
    out = []
    for device in dict.fromkeys(plan.doors[door].devices.values()):
        placed = plan.devices[device]
        if device in used and placed.place in OUTSIDE and device not in plan.supplies:
            terminals = (f"{device}.{t.name}" for t in placed.part.terminals)
            ends = tuple(name for name in terminals if name in met)
            out.append(Unit(device, door, ends, tuple(_attacks(door, device, ends))))
    return [*out, *(_both(one, other) for one, other in combinations(out, 2))]


def _both(one: Unit, other: Unit) -> Unit:
    """Two units of one door off the wall, and what joins the one's cores with the other's."""
    found: list[Attack] = []
    for a, b in product(one.ends, other.ends):
        found.append(Attack(one.door, one.id, f"join ({_short(a)}, {b})", ((a, b),)))
        found += _batteries(one.door, one.id, (a, _short(a)), (b, b))
    its = tuple(replace(attack, beside=other.id) for attack in found)
    return Unit(f"{one.id} + {other.id}", one.door, (*one.ends, *other.ends), its)


def _not_more_than_needed(opened: Sequence[AttackResult]) -> list[AttackResult]:
    """Without what takes two units and opens a door that one of them opens alone."""
    alone = {(o.attack.unit, o.attack.door) for o in opened if not o.attack.beside}
    return [
        o
        for o in opened
        if not o.attack.beside
        or all((unit, o.attack.door) not in alone for unit in (o.attack.unit, o.attack.beside))
    ]


def _ends(wiring: Wiring) -> Iterator[str]:
    for core in wiring.conductors:
        yield from (core.start, core.end)
    for lead in wiring.leads:
        yield from (lead.start, lead.end)


def _covered(door: str, units: Sequence[Unit], without_tools: int) -> Coverage:
    """What is tried with a door's own units."""
    tried = [attack for unit in units for attack in unit.attacks]
    joined = sum(1 for a in tried if a.across is None)
    ends = {end for unit in units for end in unit.ends}
    return Coverage(
        door,
        tuple(dict.fromkeys(attack.unit for attack in tried)),
        len(ends),
        joined,
        bell(len(ends)) if ends else 0,
        len(tried) - joined,
        without_tools,
    )


def _by_hand(wiring: Wiring, cell: Prepared, d: int) -> tuple[int, list[AttackResult]]:
    """A sensor set off through a gap; the mains cut at an isolator outside until all is flat: how
    many of these there are at a door, and which of them open it.

    The situations are among the door's own; a sound door is asked what it does in them.
    """
    door, facts = cell.cell.doors[d], cell.facts[d]
    asks = dict(_asks(wiring, cell, d)) if facts.bolts else {}
    if not asks:
        return 0, []
    looks = Looks(solve_edits([cell.cell], [0], [()], cell.cell.scripts[d], new_work()))
    sound = looks.sound(facts, 0)
    loose = gives_way(sound.states, facts)[0]
    its = named(looks, cell.cell.network, cell.contacts, facts.locks)
    out = []
    for column, name in asks.items():
        free = loose[column]
        if free.any() and not loose[cell.cases[d].nobody[0]].all():
            moment = int(free.argmax())
            before = sound.at(cell.cases[d].nobody[:1], [moment])
            (why,) = whys(looks, facts, [its], [0], before, [(0, column, moment)])
            key = cell.cell.situations[d][column].key
            out.append(AttackResult(Attack(door, "", name), key, why))
    return len(set(asks.values())), out


def _asks(wiring: Wiring, cell: Prepared, d: int) -> Iterator[tuple[int, str]]:
    plan = wiring.plan
    planned = plan.doors[cell.cell.doors[d]]
    reached = within_reach(plan, planned.id)
    for n, s in enumerate(cell.cell.situations[d]):
        if (s.power, s.mode) == (Power.MAINS, Mode.NORMAL) and s.event is Event.EXIT:
            for slot in reached:
                device = plan.devices[planned.devices[slot]]
                if s.which in ("", slot) and device.part.kind == SENSOR:
                    yield n, f"set off {device.id} from outside"
        if s == Situation(Power.ALL_LOST, Mode.NORMAL, Event.NOBODY) and (
            plan.job.site.facts.get("isolator at") == "outside"
        ):
            yield n, "mains off at the isolator until the battery is flat"


def _attacks(door: str, unit: str, ends: Sequence[str]) -> Iterator[Attack]:
    for groups in joins(ends):
        name = " and ".join(f"({', '.join(_short(e) for e in g)})" for g in groups)
        yield Attack(door, unit, f"join {name}" if name else "off the wall", groups)
    for one, other in combinations(ends, 2):
        yield from _batteries(door, unit, (one, _short(one)), (other, _short(other)))


def _batteries(
    door: str, unit: str, one: tuple[str, str], other: tuple[str, str]
) -> Iterator[Attack]:
    """A battery across two ends, both ways round; each end with what it is called."""
    for volts in BATTERIES_V:
        for (plus, high), (minus, low) in ((one, other), (other, one)):
            yield Attack(door, unit, f"{volts:g} V from {high} to {low}", (), (plus, minus), volts)


def _short(end: str) -> str:
    return end.rpartition(".")[2]
