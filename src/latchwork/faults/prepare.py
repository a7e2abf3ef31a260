"""Cells made ready for their faults: network, numbers, faults, what judging needs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour import Case, Group, climate_of, groups
from latchwork.behaviour.curves import CellCurve, grid, supply_volt
from latchwork.behaviour.network import Curve, Things, network, values
from latchwork.behaviour.place import Cells, cells, together
from latchwork.behaviour.script import CURVE_MODES, script
from latchwork.behaviour.situations import DoorInputs
from latchwork.elements import Contact, Fuse, Source
from latchwork.faults.beside import curves
from latchwork.faults.beyond import Beyond, beyond
from latchwork.faults.door_facts import Cases, DoorFacts, door_facts
from latchwork.faults.engine import Cell, names, situations
from latchwork.faults.listing import Known, Listing
from latchwork.faults.meters import Meters
from latchwork.faults.model import Fault
from latchwork.faults.sections import sections, wiring_of
from latchwork.wiring import Wiring
from latchwork.wiring.union import Union

POWERED, CUT_OFF = ".powered", ".cut_off"
"""Endings of flags."""
Wanted = Callable[[Fault], bool]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A cell with all that running and judging it needs.

    ``sound``: its things without places for faults. ``others_v``: volts of the supply below which
    something in another cell of the supply lets go or dies.
    """

    cell: Cell
    case: Case
    facts: tuple[DoorFacts, ...]
    cases: tuple[Cases, ...]
    sound: Things
    supplies: tuple[str, ...]
    contacts: frozenset[str]
    """Names of contacts and fuses."""
    powered: tuple[tuple[int, ...], ...]
    """For each door: flags that say whether its devices and supplies have their volts; ``~n`` of a
    flag that says that a battery is cut off."""
    hub: tuple[int, int]
    others_v: tuple[float, ...]
    group: tuple[str, ...]
    """Every door of the cell's group."""
    meters: tuple[tuple[int, int], ...]
    """For each door: the screws of minus and plus that a meter is put at, those of the supply that
    feeds its lock."""
    elsewhere: frozenset[str]
    """Nodes that nothing ties to the reference: another supply's, with a minus of its own."""
    beyond: Beyond | None
    """What the doors of the cell have in common, where they are several."""

    @property
    def neighbours(self) -> bool:
        """Whether other cells hang on the supply."""
        return len(self.group) > len(self.cell.doors)

    def home(self, fault: Fault) -> frozenset[str]:
        """The doors at which a fault is."""
        return self.beyond.homes[fault.id] if self.beyond else frozenset(self.cell.doors)


def prepare(
    wiring: Wiring,
    doors: Iterable[str] | None = None,
    case: Case = Case.NOMINAL,
    wanted: Wanted | None = None,
) -> list[Prepared]:
    """Every cell of the site with its faults (the ``wanted`` ones); where ``doors`` are given, only
    the cells that share a supply with them: what happens there may be felt here."""
    return prepare_groups(wiring, groups_of(wiring, doors), case, wanted)


def groups_of(wiring: Wiring, doors: Iterable[str] | None = None) -> list[Group]:
    """The groups that have doors, or one of the given ones."""
    some = frozenset(wiring.plan.doors if doors is None else doors)
    near = wiring if doors is None else wiring_of(sections(wiring, some))
    return [g for g in groups(near, leads_apart=True) if some & set(g.doors)]


def doors_that_meet(wiring: Wiring, door: str) -> tuple[str, ...]:
    """The doors of a door's own cell: their circuits meet beyond the supply."""
    group = next((g for g in groups_of(wiring, [door]) if door in g.doors), None)
    if group is None:
        return (door,)
    part = cells(group)
    own = part.cells if part is not None and len(part.cells) > 1 else (group,)
    return next((cell.doors for cell in own if door in cell.doors), (door,))


def fault_names(wiring: Wiring, door: str) -> frozenset[str]:
    """The names of the faults of a door's own cell."""
    doors = frozenset((door,))
    found = prepare_groups(wiring, groups_of(wiring, doors), Case.NOMINAL, None, doors)
    return frozenset(fault.id for item in found for fault in item.cell.faults)


def prepare_groups(
    wiring: Wiring,
    parts: Iterable[Group],
    case: Case,
    wanted: Wanted | None,
    doors: frozenset[str] | None = None,
) -> list[Prepared]:
    """Every cell of some groups, or those that have one of ``doors``."""
    makes = _Makes(wiring, case, wanted)
    apart: list[tuple[Group, Cells]] = []
    out: list[Prepared] = []
    for group in parts:
        part = cells(group)
        if part is None or len(part.cells) == 1:
            out.append(makes.whole(group))
        else:
            apart.append((group, part))
    found = curves([p for _, p in apart], case, climate_of(wiring.plan))
    for n, (group, part) in enumerate(apart):
        own = [found[n, cell.doors] for cell in part.cells]
        for cell, its in zip(part.cells, own, strict=True):
            if doors is None or doors & set(cell.doors):
                out.append(makes.beside(group, part, cell, [c for c in own if c is not its]))
    return out


def prepare_whole(
    wiring: Wiring, parts: Iterable[Group], case: Case, wanted: Wanted
) -> Iterator[Prepared]:
    """Whole groups, not apart at their supplies, with places for the ``wanted`` faults alone; each
    as it is asked for, as it is large."""
    makes = _Makes(wiring, case, wanted, lean=True)
    return map(makes.whole, parts)


class _Makes:
    """Makes cells of one wiring ready in one case. Like cells have one shape whatever is wanted of
    them, but where they are ``lean``."""

    def __init__(
        self, wiring: Wiring, case: Case, wanted: Wanted | None, *, lean: bool = False
    ) -> None:
        self._wiring = wiring
        self._case = case
        self._wanted = wanted
        self._lean = lean
        self._known = Known(wiring)

    def whole(self, group: Group) -> Prepared:
        """A group as one cell."""
        part = cells(group)
        plus, minus = (part.plus, part.minus) if part else ("", "")
        return self._made(group, group.things, plus, minus, None, group, ())

    def beside(
        self, group: Group, part: Cells, cell: Group, others: Sequence[CellCurve]
    ) -> Prepared:
        """A cell with its supply; ``others``: what else hangs on that."""
        curve = Curve(part.plus, part.minus, grid(supply_volt(part.hub)), ())
        amps = np.array([np.sum([c.amps[mode] for c in others], axis=0) for mode in CURVE_MODES])
        curve = replace(curve, amps=(0.0,) * amps.shape[1])
        things = replace(together((part.hub, cell.things), part.minus), curve=curve)
        losses = [v for c in others for v in (*c.lets_go_v.values(), *c.dies_v.values())]
        return self._made(
            cell, things, part.plus, part.minus, amps, group, tuple(sorted(set(losses)))
        )

    def _made(
        self,
        cell: Group,
        sound: Things,
        plus: str,
        minus: str,
        others_a: NDArray[np.float64] | None,
        group: Group,
        others_v: tuple[float, ...],
    ) -> Prepared:
        plan = self._wiring.plan
        listing = Listing(self._known, sound, plus, minus)
        faults = [f for f in listing.faults if self._wanted is None or self._wanted(f)]
        thing = listing.things(faults if self._lean else None)
        built = network(thing)
        inputs = [DoorInputs(plan, door, group.supplies) for door in cell.doors]
        asked = tuple(situations(i) for i in inputs)
        made = Cell(
            built,
            values(thing, self._case, climate_of(plan)),
            names(built),
            others_a,
            tuple(faults),
            cell.doors,
            tuple(script(built, i, s) for i, s in zip(inputs, asked, strict=True)),
            asked,
        )
        facts = tuple(door_facts(plan, door, built) for door in cell.doors)
        locked = frozenset(d for d, its in zip(cell.doors, facts, strict=True) if its.bolts)
        hub = plus if plus in built.nodes else built.reference
        elsewhere = _elsewhere(sound)
        its = [plan.supplies[s] for s in group.supplies if s in plan.supplies]
        meters = Meters(Group(sound, cell.doors, group.supplies), its, built.nodes, elsewhere)
        return Prepared(
            made,
            self._case,
            facts,
            tuple(Cases(s) for s in asked),
            sound,
            group.supplies,
            frozenset(e.name for e in sound.elements if isinstance(e.what, Contact | Fuse)),
            tuple(
                tuple(
                    ~n if name.endswith(CUT_OFF) else n
                    for name, n in built.flags.items()
                    if name.endswith((POWERED, CUT_OFF)) and _of(name, plan.doors[door].devices)
                )
                for door in cell.doors
            ),
            (built.nodes[hub], built.nodes.get(minus, 0)),
            others_v,
            group.doors,
            tuple(meters.of(each) for each in facts),
            elsewhere,
            beyond(plan, sound, made, locked) if len(cell.doors) > 1 else None,
        )


def _elsewhere(things: Things) -> frozenset[str]:
    """The nodes that nothing which may ever conduct ties to the reference."""
    if len({e.b for e in things.elements if isinstance(e.what, Source)}) < 2:
        return frozenset()
    ties = Union()
    ends = [(element.a, element.b) for element in things.elements]
    ends += [(wire.a, wire.b) for wire in things.conductors]
    for a, b in ends:
        ties.join(a, b)
    home = ties.find(things.reference)
    return frozenset(node for pair in ends for node in pair if ties.find(node) != home)


def _of(flag: str, devices: Mapping[str, str]) -> bool:
    device = flag.rpartition(".")[0]
    return device in devices.values() or not device.partition(".")[2]


def alike(prepared: Sequence[Prepared]) -> Iterator[list[Prepared]]:
    """Cells of one shape together."""
    found: dict[object, list[Prepared]] = defaultdict(list)
    for item in prepared:
        found[item.cell.network.shape, tuple(item.cell.values.curve_v)].append(item)
    yield from found.values()
