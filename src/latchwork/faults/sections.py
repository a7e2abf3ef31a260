"""A site apart into sections that share no wire and no device, each whole by itself: it can be run
alone, sent elsewhere, and held against what it was before an edit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import TypeVar

from latchwork.job.model import Job, Site
from latchwork.plan import Plan, PlannedCable, PlannedDevice, PlannedDoor, PlannedSupply
from latchwork.wiring import Bridge, Conductor, Lead, PartState, Wiring
from latchwork.wiring.kit import own_supplies
from latchwork.wiring.union import Union

Thing = TypeVar("Thing")


@dataclass(frozen=True, slots=True)
class Section:
    """All that has to do with some doors, in the order of the job. Nothing outside bears on it."""

    site: Site
    doors: tuple[PlannedDoor, ...]
    devices: tuple[PlannedDevice, ...]
    device_supplies: tuple[tuple[str, str], ...]
    supplies: tuple[PlannedSupply, ...]
    cables: tuple[PlannedCable, ...]
    conductors: tuple[Conductor, ...]
    leads: tuple[Lead, ...]
    bridges: tuple[Bridge, ...]
    states: tuple[PartState, ...]

    @property
    def door_ids(self) -> tuple[str, ...]:
        """The ids of its doors."""
        return tuple(door.id for door in self.doors)


def sections(wiring: Wiring, doors: Collection[str] | None = None) -> list[Section]:
    """The sections that have doors, or one of the given ones, by their first door.

    What wires, devices and supplies lead to is found by the first part of its name, so that a
    section may hold more than one group of ``behaviour``, but never less.
    """
    plan = wiring.plan
    joined = Union()
    links = dict.fromkeys(_links(wiring))
    for a, b in links:
        joined.join(a, b)
    asked = {joined.find(door) for door in (plan.doors if doors is None else doors)}
    # A name that is linked to nothing is a section of its own, and told of only if it is a door.
    names = dict.fromkeys(chain(plan.doors, *links))
    place = {name: found for name in names if (found := joined.find(name)) in asked}

    its_doors = _shared(place, ((name, _bare(door)) for name, door in plan.doors.items()))
    devices, supplies = _shared(place, plan.devices.items()), _shared(place, plan.supplies.items())
    fed = _shared(place, ((its[0], its) for its in plan.job.device_supplies.items()))
    conductors = _shared(place, ((c.start, c) for c in wiring.conductors))
    leads = _shared(place, ((lead.start, lead) for lead in wiring.leads))
    bridges = _shared(place, ((b.a, b) for b in wiring.bridges))
    states = _shared(place, ((s.device, s) for s in wiring.states))

    def cables(where: str) -> Iterator[PlannedCable]:
        for name in dict.fromkeys(c.cable for c in conductors.get(where, ())):
            if name in plan.cables:
                yield plan.cables[name]

    # What the site is called alters no fault, nor who waived what.
    site = replace(plan.job.site, name="", reference="", language="en", waivers=())
    return [
        Section(
            site,
            tuple(some),
            tuple(devices.get(where, ())),
            tuple(fed.get(where, ())),
            tuple(supplies.get(where, ())),
            tuple(cables(where)),
            tuple(conductors.get(where, ())),
            tuple(leads.get(where, ())),
            tuple(bridges.get(where, ())),
            tuple(states.get(where, ())),
        )
        for where, some in its_doors.items()
    ]


def _bare(door: PlannedDoor) -> PlannedDoor:
    """A door without its waivers, which alter no fault and name people."""
    if not door.door.waivers:
        return door
    return replace(door, door=replace(door.door, waivers=()))


def _shared(
    place: Mapping[str, str], things: Iterable[tuple[str, Thing]]
) -> dict[str, list[Thing]]:
    """Named things by their section."""
    out: dict[str, list[Thing]] = defaultdict(list)
    for name, thing in things:
        where = place.get(_head(name))
        if where is not None:
            out[where].append(thing)
    return out


def shared_out(some: Sequence[Section], most: int) -> list[list[int]]:
    """Numbers of sections in at most so many lots, with about as many cores in each: there are as
    many faults as these."""
    lots: list[list[int]] = [[] for _ in range(min(most, len(some)))]
    loads = [0] * len(lots)
    for n in sorted(range(len(some)), key=lambda n: -len(some[n].conductors)):
        lightest = loads.index(min(loads))
        lots[lightest].append(n)
        loads[lightest] += len(some[n].conductors)
    return lots


def wiring_of(some: Iterable[Section], order: Sequence[str] = ()) -> Wiring:
    """Sections of one site as a wiring of their own, the doors in the given ``order``."""
    parts = list(some)
    rank = {door: n for n, door in enumerate(order)}
    doors = {d.id: d for part in parts for d in part.doors}
    fed = {device: supply for part in parts for device, supply in part.device_supplies}
    plan = Plan(
        Job(1, parts[0].site if parts else Site(), {}, {}, device_supplies=fed),
        {d.id: d for part in parts for d in part.devices},
        {c.id: c for part in parts for c in part.cables},
        {s.id: s for part in parts for s in part.supplies},
        {door: doors[door] for door in sorted(doors, key=lambda d: rank.get(d, 0))},
    )
    return Wiring(
        plan,
        (),
        tuple(c for part in parts for c in part.conductors),
        tuple(lead for part in parts for lead in part.leads),
        tuple(b for part in parts for b in part.bridges),
        tuple(s for part in parts for s in part.states),
    )


def _links(wiring: Wiring) -> Iterator[tuple[str, str]]:
    """Names that belong together. Ends of one device are left out, as they are most."""
    for core in wiring.conductors:
        a, b = _head(core.start), _head(core.end)
        if a != b:
            yield a, b
        if core.door and core.door != a:
            yield core.door, a
    for lead in wiring.leads:
        a, b = _head(lead.start), _head(lead.end)
        if a != b:
            yield a, b
        if lead.door and lead.door != a:
            yield lead.door, a
    for bridge in wiring.bridges:
        yield _head(bridge.a), _head(bridge.b)
        if bridge.door:
            yield bridge.door, _head(bridge.a)
    for door in wiring.plan.doors.values():
        if door.door.supply:
            yield door.id, _head(door.door.supply)
        # Where nothing is joined to it, a lock hangs on a supply of its own by word alone.
        for own in own_supplies(wiring.plan, door.door):
            yield door.id, _head(own)
        for device in door.devices.values():
            head = _head(device)
            if head != door.id:
                yield door.id, head
    for placed in wiring.plan.devices.values():
        head = _head(placed.id)
        if placed.door and placed.door != head:
            yield placed.door, head


def _head(name: str) -> str:
    return name.partition(".")[0]
