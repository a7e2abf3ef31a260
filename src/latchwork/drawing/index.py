"""What meets at each node of a site, looked up once for all its drawings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from latchwork.elements import Contact
from latchwork.parts.model import Part
from latchwork.plan.model import Plan
from latchwork.wiring import Bridge, Conductor, Lead, Wiring

Joining = Conductor | Lead | Bridge

_OPEN = re.compile(r"(.+)@[12]$")
_CUT = re.compile(r"(.+)~\d+[ab]?$")
EARTH = "earth"


class Sort(StrEnum):
    """What wires end on."""

    DEVICE = "device"
    JOINT = "joint"
    TAP = "tap"
    OPEN = "open end"
    CUT = "place along a cable"
    EARTH = "earth"


@dataclass(frozen=True, slots=True)
class Owner:
    """What a node belongs to, and the node's name there. A cut's id is its cable's."""

    sort: Sort
    id: str
    pin: str


def ends(wire: Joining) -> tuple[str, str]:
    """The two nodes a wire joins."""
    return (wire.a, wire.b) if isinstance(wire, Bridge) else (wire.start, wire.end)


def within_joint(lead: Lead) -> bool:
    """Whether it stands for a joint's own resistance: nobody lays that."""
    return lead.end == f"{lead.start}~"


def added(wire: Joining) -> bool:
    """Whether it is a lead that a deviation put there: those of rows are called by their ends."""
    if not isinstance(wire, Lead) or within_joint(wire) or wire.end == EARTH:
        return False
    return wire.id != f"{wire.start} to {wire.end}"


@dataclass(frozen=True, slots=True)
class Index:
    """A wiring with its wires by node, by door and by the door whose device they touch.

    ``of_door`` holds absent cores too, as they are drawn; ``at`` does not, as they lead nowhere.
    """

    wiring: Wiring
    at: Mapping[str, tuple[Joining, ...]]
    of_door: Mapping[str, tuple[Joining, ...]]
    owners: Mapping[str, Owner]

    def is_absent(self, wire: Joining) -> bool:
        """Whether it is planned, and not there."""
        return wire in self.wiring.absent

    @property
    def plan(self) -> Plan:
        """The plan that was wired."""
        return self.wiring.plan


def index(wiring: Wiring) -> Index:
    """Look up every node of a wiring once."""
    at: dict[str, list[Joining]] = {}
    of_door: dict[str, dict[int, Joining]] = {}
    owners: dict[str, Owner] = {}
    plan = wiring.plan
    wires: list[Joining] = [*wiring.conductors, *wiring.leads, *wiring.bridges, *wiring.absent]
    drawn: dict[tuple[str, str, str], Joining] = {}
    for each in wires:
        doors = {each.door} if each.door else set()
        # Two doors may each name the lead between two things that they share: it is one lead.
        wire = drawn.setdefault((each.id, *ends(each)), each)
        for node in ends(wire):
            if wire is each and wire not in wiring.absent:
                at.setdefault(node, []).append(wire)
            owner = owners.get(node)
            if owner is None:
                owner = owners[node] = owner_of(plan, node)
            if owner.sort is Sort.DEVICE and plan.devices[owner.id].door:
                doors.add(plan.devices[owner.id].door)
        for door in doors:
            of_door.setdefault(door, {})[id(wire)] = wire
    return Index(
        wiring,
        {node: tuple(wires) for node, wires in at.items()},
        {door: tuple(wires.values()) for door, wires in of_door.items()},
        owners,
    )


def owner_of(plan: Plan, node: str) -> Owner:
    """What a node belongs to, whether or not anything is joined to it."""
    if node == EARTH:
        return Owner(Sort.EARTH, EARTH, EARTH)
    head, _, tail = node.rpartition(".")
    if head in plan.devices and plan.devices[head].part.has_terminal(tail):
        return Owner(Sort.DEVICE, head, tail)
    if head in plan.job.taps:
        return Owner(Sort.TAP, head, tail)
    # A core's id stands before the mark: "D3.exit.green@1", "D3.exit.green~1a".
    for sort, form in ((Sort.OPEN, _OPEN), (Sort.CUT, _CUT)):
        found = form.match(node)
        if found:
            cable, _, core = found[1].rpartition(".")
            if cable in plan.cables:
                return Owner(sort, cable, core)
    return Owner(Sort.JOINT, node.removesuffix("~"), node)


def contacts(part: Part) -> Iterable[Contact]:
    """A part's contacts that lie between two of its terminals."""
    for element in part.elements:
        if (
            isinstance(element, Contact)
            and part.has_terminal(element.a)
            and part.has_terminal(element.b)
        ):
            yield element
