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

from latchwork.behaviour import Group, LockState, climate_of, new_work
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
TOUCH = "hand:touches"
"""Set where cores are joined or a battery is put to them."""
READ = "read"
"""How flags of a reader port begin that say that a card was read."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit outside: its door, the ends in hand once it is off the wall, what is done to them."""

    id: str
    door: str
    ends: tuple[str, ...]
    attacks: tuple[Attack, ...]


@dataclass(frozen=True, slots=True)
class _Rig:
    """A circuit with a place for everything that is done to one unit's cores."""

    cell: Cell
    sound: Things
    doors: tuple[str, ...]
    facts: tuple[DoorFacts, ...]


def off_the_wall(
    plan: Plan, cell: Prepared, group: Group, unit: Unit, asked: Collection[str]
) -> tuple[list[AttackResult], Counts]:
    """The attacks on ``unit``, which is of ``cell``, that open doors among ``asked``."""
    here = [door for door in cell.cell.doors if door in asked]
    rig = _rig(plan, cell, cell.sound, cell.cell.curves, unit, here)
    looks, counts = _tried(rig, unit, unit.attacks)
    out = [found for n in range(len(here)) for found in _opened(rig, n, looks, unit.attacks)]
    there = [door for door in group.doors if door in asked and door not in cell.cell.doors]
    pulled = _pulled(cell, rig, looks, unit.attacks) if there and cell.others_v else []
    if pulled:
        whole = _rig(plan, cell, group.things, None, unit, there)
        looks, more = _tried(whole, unit, pulled)
        out += [found for n in range(len(there)) for found in _opened(whole, n, looks, pulled)]
        counts += more
    return out, counts


def _rig(
    plan: Plan,
    cell: Prepared,
    sound: Things,
    curves: NDArray[np.float64] | None,
    unit: Unit,
    doors: Sequence[str],
) -> _Rig:
    """``sound`` things with places between all ends, and a battery in somebody's hand."""
    door, ends = unit.door, unit.ends
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
    whole = replace(sound, elements=(*sound.elements, hand, *places))
    built = network(whole)
    its = script(built, DoorInputs(plan, door, cell.supplies), SITUATIONS)
    touch = ((built.flags[TOUCH], True),) if TOUCH in built.flags else ()
    its = replace(its, columns=tuple((stage, touch, False) for stage, _, _ in its.columns))
    made = Cell(
        built,
        values(whole, cell.case, climate_of(plan)),
        names(built),
        curves,
        (),
        (door,),
        (its,),
        (SITUATIONS,),
    )
    facts = {d: door_facts(plan, d, built) for d in doors}
    some = tuple(d for d in doors if facts[d].bolts)
    return _Rig(made, sound, some, tuple(facts[d] for d in some))


def _touching(name: str, a: str, b: str, door: str) -> PlacedElement:
    """A place where somebody's hand may join two nodes, which nothing does before."""
    touch = Flag(TOUCH)
    return PlacedElement(name, a, b, Contact(name, a, b, touch, ENDLESS), door, "hand", touch)


def _tried(rig: _Rig, unit: Unit, attacks: Sequence[Attack]) -> tuple[Looks, Counts]:
    """Nothing done, then each attack touched, then each left so."""
    gone = tuple(_gone(rig.sound, unit.id))
    done = [(*gone, *_edits(attack)) for attack in attacks]
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
    if rig.facts:
        counts += looks.counts(rig.facts[0], Cases(SITUATIONS), (), slice(0, len(edits)))
    return looks, counts


def _opened(rig: _Rig, n: int, looks: Looks, attacks: Sequence[Attack]) -> Iterator[AttackResult]:
    """The attacks that open one of the rig's doors."""
    facts = rig.facts[n]
    free = (looks.states(facts) != LockState.LOCKED).all(axis=0)
    hits = free & ~free[0].any(axis=1)[:, None]
    sound = looks.sound(facts, 0)
    contacts = {e.name for e in rig.sound.elements if isinstance(e.what, Contact | Fuse)}
    its = named(looks, rig.cell.network, contacts, facts.locks)
    for row, attack in enumerate(attacks, start=1):
        at = row if hits[row].any() else row + len(attacks)
        if hits[at].any():
            column = int(hits[at].any(axis=1).argmax())
            moment = int(hits[at, column].argmax())
            before = sound.at([column], [moment])
            (why,) = whys(looks, facts, [its], [0], before, [(at, column, moment)])
            yield AttackResult(replace(attack, door=rig.doors[n]), SITUATIONS[column].key, why)


def _pulled(cell: Prepared, rig: _Rig, looks: Looks, attacks: Sequence[Attack]) -> list[Attack]:
    """The attacks that pull the supply down so far that something in another cell lets go."""
    known = {node: name for name, node in cell.cell.network.nodes.items()}
    plus, minus = (rig.cell.network.nodes.get(known.get(node, ""), 0) for node in cell.hub)
    volts = looks.volts(plus, minus)
    low = (volts < cell.others_v) & (volts[0] >= cell.others_v)
    some = low.any(axis=(1, 2))
    count = len(attacks)
    return [a for n, a in enumerate(attacks, start=1) if some[n] or some[n + count]]


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
