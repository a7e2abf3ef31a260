"""The site as run, with what rules often ask of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import TypeVar

import numpy as np

from latchwork.behaviour import (
    Case,
    DoorOutcome,
    DoorState,
    Event,
    Group,
    LockOutcome,
    LockState,
    Mode,
    Power,
    SiteOutcome,
)
from latchwork.behaviour.passing import way_locks
from latchwork.behaviour.place import alternating_nodes
from latchwork.elements import Sense
from latchwork.job.model import Fact, OutBy
from latchwork.job.names import EXIT_SLOTS
from latchwork.parts.model import Part
from latchwork.plan import Plan, PlannedDevice, PlannedDoor
from latchwork.plan.places import out_of_reach
from latchwork.power.backed import battery_behind
from latchwork.power.loads import SupplyLoad, supply_loads
from latchwork.power.nets import Contacts, Nets, feeds
from latchwork.power.standby import Standby, standbys
from latchwork.rules.sets import Limits, limits_of
from latchwork.wiring import Wiring, merged

T = TypeVar("T")

BESIDE = ("exit", "second exit", "release", "bar", "controller", "contact", "latch contact")
"""Slots of what stands at the door, on its inner side where nothing else is said."""
IN_LEAF = ("lock", "second lock", "contact", "latch contact")
"""Slots of what sits in the leaf or the frame, between the door's two sides."""
RANK = {"inside": 0, "outside": 1, "weather": 2}
"""What a device may stand in, the mildest first."""


@dataclass(frozen=True)
class View:
    """The site as run, with what rules often ask. What is asked for twice is kept."""

    site: SiteOutcome
    _kept: dict[object, object] = field(default_factory=dict, repr=False, compare=False)

    @property
    def plan(self) -> Plan:
        """The plan behind the site."""
        return self.site.plan

    def kept(self, key: object, make: Callable[[], T]) -> T:
        """What ``make`` gives, worked out once for each key."""
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]  # type: ignore[return-value]  # a key always means the same thing

    @property
    def loads(self) -> tuple[SupplyLoad, ...]:
        """What each supply carries."""
        return self.kept("loads", lambda: supply_loads(self.site))

    @property
    def batteries(self) -> tuple[Standby, ...]:
        """How long each battery carries its doors on."""
        return self.kept("batteries", lambda: standbys(self.site))

    @property
    def limits(self) -> Limits:
        """The figures of the site's rule set."""
        return limits_of(self.plan.job.site.rule_set)

    def node(self, terminal: str) -> str:
        """The node a terminal belongs to."""
        return self.kept("nodes", lambda: merged(self.site.wiring)).get(terminal, terminal)

    def nets(self, group: Group, contacts: Contacts = Contacts.NONE) -> Nets:
        """What copper joins in a group."""
        return self.kept(("nets", id(group), contacts), lambda: Nets(self.plan, group, contacts))

    @property
    def wired_terminals(self) -> frozenset[str]:
        """The terminals that a core or lead ends on."""
        return self.kept("wired", lambda: frozenset(_ends(self.site.wiring)))

    def doors(self) -> Iterator[tuple[PlannedDoor, DoorOutcome]]:
        """Every door that was run, with its nominal outcome."""
        for door_id, by_case in self.site.outcomes.items():
            nominal = by_case.get(Case.NOMINAL)
            if nominal is not None and nominal.locks:
                yield self.plan.doors[door_id], nominal

    def outcome(self, door: str, case: Case) -> DoorOutcome | None:
        """A door's outcome in one case."""
        return self.site.outcomes[door].get(case)

    def state(self, door: str, power: Power, mode: Mode) -> DoorState | None:
        """A door's four questions in one power and mode."""
        for state in self.site.states.get(door, ()):
            if state.power is power and state.mode is mode:
                return state
        return None

    def has(self, door: PlannedDoor, slot: str) -> bool:
        """Whether the door has a device in ``slot``."""
        return slot in door.devices

    def device(self, door: PlannedDoor, slot: str) -> PlannedDevice | None:
        """What is fitted in a slot."""
        name = door.devices.get(slot)
        return None if name is None else self.plan.devices[name]

    def part(self, device: str) -> Part:
        """A device's part."""
        return self.plan.devices[device].part

    def battery_fitted(self, door: str) -> bool:
        """Whether a battery stands behind what feeds the door."""
        return self.kept(("battery", door), lambda: battery_behind(self.site, door))

    def lock_named(self, outcome: DoorOutcome, device: str) -> LockOutcome:
        """The outcome of one lock of a door."""
        return next(lock for lock in outcome.locks if lock.device == device)

    def frees(
        self, outcome: DoorOutcome, lock: LockOutcome, event: Event, but: Sequence[str] = ()
    ) -> bool:
        """Whether an event, on mains and in normal, frees a lock as it begins (any of its
        devices, where there are several, ``but`` for some)."""
        return any(
            lock.state[n, 0] == LockState.UNLOCKED and s.which not in but
            for n, s in enumerate(outcome.situations)
            if s.power is Power.MAINS and s.mode is Mode.NORMAL and s.event is event
        )

    def out_of_reach(self, door: PlannedDoor) -> tuple[str, ...]:
        """The slots of what asks to leave, and of the release, on the other side of a door; "" too
        where its only exit device is there, which situations do not name."""
        beyond = out_of_reach(self.plan, door.id)
        fitted = [slot for slot in EXIT_SLOTS if slot in door.devices]
        return (*beyond, "") if len(fitted) == 1 and fitted[0] in beyond else beyond

    def ways(self, outcome: DoorOutcome) -> tuple[LockOutcome, ...]:
        """The locks that must be free for people to pass."""
        ways = way_locks(self.plan, outcome.door)
        return tuple(lock for lock in outcome.locks if lock.device in ways)

    def mechanical(self, door: PlannedDoor, lock: LockOutcome) -> bool:
        """Whether the door's lever or bar frees the lock by itself."""
        return door.door.out_by is not OutBy.NOTHING and lock.lever_frees

    def needs_power_to_lock(self, lock: LockOutcome) -> bool:
        """Whether the lock opens by losing its power (a motor lock that stays put does not)."""
        facts = self.part(lock.device).facts
        return not lock.unlocks_energised and facts.get("stays_put") is not True

    def freed(self, locks: Iterable[LockOutcome]) -> dict[str, float | str]:
        """What a finding says of locks that no broken feed frees, as figures: by what they are."""
        by_current = any(not self.needs_power_to_lock(lock) for lock in locks)
        return {"freed": "by current"} if by_current else {}

    def group_with(self, device: str) -> Group | None:
        """The group that a device is solved in."""
        return self.kept(
            "groups", lambda: {e.device: g for g in self.site.groups for e in g.things.elements}
        ).get(device)

    def forward(self, group: Group, a: str, b: str) -> bool:
        """Whether copper and contacts join ``a`` to a source's plus and ``b`` to its minus.

        Positions are tried from none closed to all closed; those that join plus and minus of the
        source itself tell nothing.
        """
        for contacts in Contacts:
            nets = self.nets(group, contacts)
            for feed in feeds(group):
                if (
                    feed.device in self.crossed(group)
                    or nets.joined(feed.plus, feed.minus)
                    or nets.joined(a, b)
                ):
                    continue
                if nets.joined(a, feed.plus) and nets.joined(b, feed.minus):
                    return True
        return False

    def crossed(self, group: Group) -> frozenset[str]:
        """Sources whose plus lies on another's minus and whose minus on its plus: of such two the
        battery, or the one that the file has last."""

        def find() -> frozenset[str]:
            nets = self.nets(group, Contacts.REST)
            direct = [f for f in feeds(group) if not f.alternating]
            order = [*self.plan.supplies, *(f.device for f in direct)]
            direct.sort(
                key=lambda f: (self.part(f.device).kind == "battery", order.index(f.device))
            )
            return frozenset(
                b.device
                for a, b in combinations(direct, 2)
                if a.device != b.device
                and nets.joined(a.plus, b.minus)
                and nets.joined(a.minus, b.plus)
                and not nets.joined(a.plus, a.minus)
            )

        return self.kept(("crossed", id(group)), find)

    def alternating(self, node: str) -> bool:
        """Whether alternating current feeds the circuit of a node."""

        def every() -> frozenset[str]:
            return frozenset().union(*(alternating_nodes(g.things) for g in self.site.groups))

        return node in self.kept("alternating", every)

    def reversed_feed(self, device: str) -> bool:
        """Whether a device that minds is fed with plus and minus swapped."""
        part = self.part(device)
        minds = part.facts.get("polarised") is True or any(
            isinstance(r, Sense) and r.flag == "powered" and not r.either_way for r in part.rules
        )
        group = self.group_with(device)
        names = ("+", "-") if part.has_terminal("+") else ("A1", "A2")
        plus, minus = (self.node(f"{device}.{name}") for name in names)
        if not minds or group is None or self.alternating(plus):
            return False
        return self.forward(group, minus, plus)

    def fact_m(self, door: PlannedDoor, name: str) -> Fact | None:
        """A fact of a door that is a figure; None where it is a word or was not written."""
        found = door.door.facts.get(name)
        return found if isinstance(found, Fact) else None

    def exposure(self, device: PlannedDevice) -> str:
        """What a device stands in: inside, outside (under cover) or weather. A bar is on the leaf's
        inner face; a lock or a contact in the frame has the milder of the door's two sides."""
        if device.door:
            door = self.plan.doors[device.door].door
            inner = str(door.facts.get("inner side", "inside"))
            if device.place == "inside" and device.slot in BESIDE:
                return inner
            if device.place == "door" and device.slot == "bar":
                return inner
            if device.place == "door" and device.slot in IN_LEAF:
                return min(inner, door.outside, key=RANK.__getitem__)
        if device.place in ("weather", "inside", "supply", "door"):
            return "weather" if device.place == "weather" else "inside"
        if device.place == "outside" and device.door:
            return self.plan.doors[device.door].door.outside
        return "outside" if device.place == "outside" else "inside"


def _ends(wiring: Wiring) -> Iterator[str]:
    for core in wiring.conductors:
        yield from (core.start, core.end)
    for lead in wiring.leads:
        yield from (lead.start, lead.end)


def energised(lock: LockOutcome) -> np.ndarray:
    """Where a lock's coil is energised: situations x moments."""
    is_energised: np.ndarray = lock.state == (
        LockState.UNLOCKED if lock.unlocks_energised else LockState.LOCKED
    )
    return is_energised
