"""One unit off the wall: what is done to its cores, and which doors it opens.

Its own door and those that hang together with it are seen in one circuit with it; the others of its
supply where it pulls that down so far that something there lets go, in a run of the whole supply.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour import Group, climate_of, new_work
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
from latchwork.faults.consequences import gives_way
from latchwork.faults.door_facts import Cases, DoorFacts, door_facts
from latchwork.faults.engine import Cell, names, solve_edits
from latchwork.faults.listing import ENDLESS, GONE_A, SHORT_OHM
from latchwork.faults.looks import Looks
from latchwork.faults.model import Attack, AttackResult, Counts, Edit
from latchwork.faults.prepare import Prepared
from latchwork.faults.reasons import named, whys
from latchwork.plan import Plan

BATTERY_OHM = 1.0
"""A small block battery (common practice, no source)."""
SITUATIONS = tuple(
    Situation(power, Mode.NORMAL, Event.NOBODY)
    for power in (Power.MAINS, Power.BATTERY, Power.BATTERY_END)
)
POLES = ("plus", "minus")
TOUCH = "hand:touches"
"""Set where cores are joined or a battery is put to them."""
READ = "read"
"""How flags of a reader port begin that say that a card was read."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit outside, or two: its door, the ends in hand off the wall, what is done to them."""

    id: str
    door: str
    ends: tuple[str, ...]
    attacks: tuple[Attack, ...]


@dataclass(frozen=True, slots=True)
class Deed:
    """One attack on one unit; ``near``: the doors that are seen in one circuit with it."""

    unit: Unit
    attack: Attack
    near: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OffTheWall:
    """What one unit off the wall does: the attacks that open doors ``near`` it; those that pull
    its supply down so far that another door may notice, without those that only join more."""

    opened: tuple[AttackResult, ...]
    pulled: tuple[Deed, ...]
    counts: Counts


@dataclass(frozen=True, slots=True)
class _Rig:
    """A circuit with a place for everything that is done to units' cores."""

    cell: Cell
    sound: Things
    facts: dict[str, DoorFacts]
    """Of each door that has a lock."""


def off_the_wall(plan: Plan, cell: Prepared, unit: Unit, asked: Collection[str]) -> OffTheWall:
    """Every attack on ``unit``, which is of ``cell``, held against the doors of that cell that are
    ``asked`` for."""
    near = cell.cell.doors
    deeds = [Deed(unit, attack, near) for attack in unit.attacks]
    rig = _rig(plan, cell, cell.sound, cell.cell.curves, deeds, near)
    looks, counts = _tried(rig, deeds)
    here = [door for door in near if door in asked]
    opened = [found for door in here for _, found in _opened(rig, door, looks, deeds)]
    return OffTheWall(tuple(opened), tuple(_pulled(cell, rig, looks, deeds)), counts)


def along_the_supply(
    plan: Plan, cell: Prepared, group: Group, deeds: Sequence[Deed], asked: Collection[str]
) -> tuple[list[AttackResult], Counts]:
    """The attacks held against the doors of the whole ``group`` (which ``cell`` is of) that are
    ``asked`` for and not near the unit."""
    rig = _rig(plan, cell, group.things, None, deeds, group.doors)
    looks, counts = _tried(rig, deeds)
    out = []
    for door in group.doors:
        if door in asked:
            every = _opened(rig, door, looks, deeds)
            out += [found for deed, found in every if door not in deed.near]
    return out, counts


def _rig(
    plan: Plan,
    cell: Prepared,
    sound: Things,
    curves: NDArray[np.float64] | None,
    deeds: Sequence[Deed],
    doors: Sequence[str],
) -> _Rig:
    """``sound`` things with places between all ends of each unit that something is done to, and a
    battery in somebody's hand."""
    places: dict[str, PlacedElement] = {}
    for unit in {deed.unit.id: deed.unit for deed in deeds}.values():
        used = {end for d in deeds if d.unit is unit for end in _used(d.attack)}
        ends = [end for end in unit.ends if end in used]
        its = [(f"join {a} {b}", a, b) for a, b in combinations(ends, 2)]
        its += [(f"{pole} {end}", f"hand {pole}", end) for end in ends for pole in POLES]
        places |= {name: _touching(name, a, b, unit.door) for name, a, b in its}
    door = deeds[0].unit.door
    nothing = Figure(0.0, 0.0, 0.0)
    ohm = Figure(BATTERY_OHM, BATTERY_OHM, BATTERY_OHM)
    block = Source("block", "+", "-", nothing, ohm, None, SourceShape.BREAKS_DOWN)
    hand = PlacedElement("hand.block", "hand plus", "hand minus", block, door, "hand", TRUE)
    whole = replace(sound, elements=(*sound.elements, hand, *places.values()))
    built = network(whole)
    its_script = script(built, DoorInputs(plan, door, cell.supplies), SITUATIONS)
    touch = ((built.flags[TOUCH], True),) if TOUCH in built.flags else ()
    columns = tuple((stage, touch, False) for stage, _, _ in its_script.columns)
    made = Cell(
        built,
        values(whole, cell.case, climate_of(plan)),
        names(built),
        curves,
        (),
        (door,),
        (replace(its_script, columns=columns),),
        (SITUATIONS,),
    )
    facts = {d: door_facts(plan, d, built) for d in doors}
    return _Rig(made, sound, {d: its for d, its in facts.items() if its.bolts})


def _used(attack: Attack) -> set[str]:
    return {end for group in attack.groups for end in group} | set(attack.across or ())


def _touching(name: str, a: str, b: str, door: str) -> PlacedElement:
    """A place where somebody's hand may join two nodes, which nothing does before."""
    touch = Flag(TOUCH)
    return PlacedElement(name, a, b, Contact(name, a, b, touch, ENDLESS), door, "hand", touch)


def _tried(rig: _Rig, deeds: Sequence[Deed]) -> tuple[Looks, Counts]:
    """Nothing done, then each attack touched, then each left so."""
    units = {d.unit.id: d.unit for d in deeds}
    gone = {id_: tuple(_gone(rig.sound, unit)) for id_, unit in units.items()}
    done = [(*gone[d.unit.id], *_edits(d.attack)) for d in deeds]
    # Touched once all is at rest, so that an input that acts on a change sees one; and left so,
    # through outages and all.
    edits = [(), *done, *((*its, Edit("flag", TOUCH, 1.0)) for its in done)]
    work = new_work()
    looks = Looks(solve_edits([rig.cell], [0] * len(edits), edits, rig.cell.scripts[0], work))
    counts = Counts(
        eliminations=work.eliminations,
        newton_steps=work.newton_steps,
        reductions=work.reductions,
    )
    for facts in list(rig.facts.values())[:1]:
        counts += looks.counts(facts, Cases(SITUATIONS), (), slice(0, len(edits)))
    return looks, counts


def _opened(
    rig: _Rig, door: str, looks: Looks, deeds: Sequence[Deed]
) -> Iterator[tuple[Deed, AttackResult]]:
    """The attacks that open a door of the rig."""
    facts = rig.facts.get(door)
    if facts is None:
        return
    free = gives_way(looks.states(facts), facts)
    hits = free & ~free[0].any(axis=1)[:, None]
    sound = looks.sound(facts, 0)
    contacts = {e.name for e in rig.sound.elements if isinstance(e.what, Contact | Fuse)}
    its = named(looks, rig.cell.network, contacts, facts.locks)
    those: list[Deed] = []
    places: list[tuple[int, int, int]] = []
    for row, deed in enumerate(deeds, start=1):
        at = row if hits[row].any() else row + len(deeds)
        if hits[at].any():
            column = int(hits[at].any(axis=1).argmax())
            those.append(deed)
            places.append((at, column, int(hits[at, column].argmax())))
    before = sound.at([column for _, column, _ in places], [moment for *_, moment in places])
    reasons = whys(looks, facts, [its], [0] * len(places), before, places)
    for deed, (_, column, _), why in zip(those, places, reasons, strict=True):
        attack = replace(deed.attack, door=door)
        yield deed, AttackResult(attack, SITUATIONS[column].key, why)


def _pulled(cell: Prepared, rig: _Rig, looks: Looks, deeds: Sequence[Deed]) -> Iterator[Deed]:
    """What pulls the supply down so far that something in another cell lets go."""
    if not cell.others_v:
        return
    known = {node: name for name, node in cell.cell.network.nodes.items()}
    plus, minus = (rig.cell.network.nodes.get(known.get(node, ""), 0) for node in cell.hub)
    volts = looks.volts(plus, minus)
    # Each by itself: what is not held even before hides nothing that is.
    low = np.zeros(len(volts), dtype=bool)
    for least_v in cell.others_v:
        low |= ((volts < least_v) & (volts[0] >= least_v)).any(axis=(1, 2))
    count = len(deeds)
    some = [d for n, d in enumerate(deeds, start=1) if low[n] or low[n + count]]
    yield from (d for d in some if not any(_less(o.attack, d.attack) for o in some))


def _less(one: Attack, other: Attack) -> bool:
    """Whether ``one`` joins nothing but what ``other`` joins too, and less of it."""
    if one.across or other.across or one.groups == other.groups:
        return False
    return all(any(set(g) <= set(whole) for whole in other.groups) for g in one.groups)


def _gone(things: Things, unit: Unit) -> Iterable[Edit]:
    """Off the wall: nothing of it is left on its cores."""
    devices = {end.rpartition(".")[0] for end in unit.ends}
    for element in things.elements:
        if element.device not in devices:
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
        if isinstance(rule.what, Input) and rule.flag in {f"{device}.dead" for device in devices}:
            yield Edit("flag", rule.flag, 1.0)
    yield from _no_card(things)


def _no_card(things: Things) -> Iterator[Edit]:
    """Levels on data lines stand for a card where one is shown; cores put together, or contacts
    that are stuck, send no bits."""
    for rule in things.rules:
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
