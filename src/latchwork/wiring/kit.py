"""What one door's arrangement is made of: its devices by slot, its supply, where things stand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from latchwork.job import counted
from latchwork.job.model import Door, Locking
from latchwork.parts import Part
from latchwork.plan.model import Plan, PlannedDoor
from latchwork.wiring.fitted import Fitted, fitted


@dataclass(frozen=True, slots=True)
class Feed:
    """Two nodes that a supply feeds."""

    plus: str
    minus: str


@dataclass(frozen=True, slots=True)
class Firsts:
    """Which door comes first where a device is shared: it brings the device its feed.

    ``controllers``: device id -> door. ``ahead``: (slot, device id with its way, supply) -> door.
    ``ways``: device id -> the way of it that each slot uses, "" for all of it.
    """

    controllers: Mapping[str, str]
    ahead: Mapping[tuple[str, str, str], str]
    ways: Mapping[str, Sequence[str]]

    def alone(self, device: Fitted) -> bool:
        """Whether what a slot uses of a device is used by no other."""
        others = list(self.ways.get(device.id, (device.way,)))
        others.remove(device.way)
        return all(device.way and way and way != device.way for way in others)


@dataclass(frozen=True, slots=True)
class Kit:
    """One door's devices. ``supply`` None: the file does not say which."""

    door: Door
    devices: Mapping[str, Fitted]
    supply: Fitted | None
    feed: Feed | None
    lock_feed: Feed | None
    """Where the lock has a supply of its own."""
    controller_feed: Feed | None
    """Where a controller that doors share has a supply of its own."""
    brings: frozenset[str]
    """Slots whose shared device this door feeds."""
    alone: frozenset[str]
    """Slots whose device, or way of a shared one, no other slot uses."""

    def get(self, slot: str) -> Fitted | None:
        """What is fitted in the slot."""
        return self.devices.get(slot)

    @property
    def locks(self) -> tuple[Fitted, ...]:
        """Its locks, first the one that release, fire contact and bar take the power from: of two
        unlike ones that which needs power to hold, whichever the file calls the second."""
        slots = _leading({slot: device.part for slot, device in self.devices.items()})
        return tuple(self.devices[slot] for slot in slots)

    @property
    def unsaid_output(self) -> bool:
        """Whether the supply has several outputs and the file says none: the first is taken."""
        if self.supply is None or "." in self.door.supply:
            return False
        return sum(t.does == "output_plus" for t in self.supply.part.terminals) > 1

    @property
    def at_supply(self) -> bool:
        """Whether the controller's place is beside the supply."""
        return self.door.controller_at == "supply"

    @property
    def timed(self) -> bool:
        """Whether the supply itself switches the lock."""
        return self.supply is not None and self.supply.part.kind == "timed supply"


def kit(plan: Plan, door_id: str, firsts: Firsts) -> Kit:
    """The kit of a door."""
    planned = plan.doors[door_id]
    door = planned.door
    devices = {
        slot: fitted(plan.devices[device], door.shared.get(slot, "").partition(".")[2])
        for slot, device in planned.devices.items()
    }
    feed_from = _fed_from(plan, door)
    supply_id = feed_from.partition(".")[0]
    supply = fitted(plan.supplies[supply_id].device) if supply_id else None
    lock = door.devices.get("lock")
    own = str(lock.settings.get("supply", "")).replace(" out ", ".") if lock else ""
    own = own or plan.job.device_supplies.get(planned.devices.get("lock", ""), "")
    brings = frozenset(
        slot
        for slot, device in devices.items()
        if not device.shared
        or (slot == "controller" and firsts.controllers[device.id] == door_id)
        or firsts.ahead.get((slot, door.shared.get(slot, ""), supply_id)) == door_id
    )
    return Kit(
        door,
        devices,
        supply,
        _feed(plan, feed_from),
        _feed(plan, own),
        _feed(plan, plan.job.device_supplies.get(planned.devices.get("controller", ""), "")),
        brings,
        frozenset(slot for slot, device in devices.items() if firsts.alone(device)),
    )


def firsts(plan: Plan) -> Firsts:
    """Who comes first at each shared device: the way of it that a door uses, then the output that
    feeds the door, decide; in which order the file has the doors, nothing."""
    controllers: dict[str, str] = {}
    ahead: dict[tuple[str, str, str], str] = {}
    ways: dict[str, list[str]] = defaultdict(list)

    def place(door_id: str) -> tuple[object, ...]:
        door = plan.doors[door_id].door
        way = door.shared.get("controller", "").partition(".")[2]
        return way, counted(_fed_from(plan, door)), counted(door_id)

    for door_id in sorted(plan.doors, key=place):
        planned = plan.doors[door_id]
        supply = _fed_from(plan, planned.door).partition(".")[0]
        for slot, written in planned.door.shared.items():
            ways[planned.devices[slot]].append(written.partition(".")[2])
            if slot == "controller":
                controllers.setdefault(planned.devices[slot], door_id)
            elif stands_ahead(plan, planned, slot):
                ahead.setdefault((slot, written, supply), door_id)
    return Firsts(controllers, ahead, ways)


def stands_ahead(plan: Plan, planned: PlannedDoor, slot: str) -> bool:
    """Whether a release or fire contact stands ahead of the door's lock, to take its power away;
    where it has to put power on one that current frees, it stands beside what switches it."""
    slots = _leading({slot: plan.devices[name].part for slot, name in planned.devices.items()})
    if not slots:
        return False
    part = plan.devices[planned.devices[slots[0]]].part
    return not (unlocked_by_current(part) and energises(planned.door, slot))


def unlocked_by_current(lock: Part) -> bool:
    """Whether the lock has to be given power to open."""
    return lock.facts.get("energised") == "unlocks"


def _leading(parts: Mapping[str, Part]) -> tuple[str, ...]:
    """The slots of the locks, first the one whose power is broken."""
    lock, second = parts.get("lock"), parts.get("second lock")
    if lock is None or second is None:
        return () if lock is None else ("lock",)
    if unlocked_by_current(lock) and not unlocked_by_current(second):
        return "second lock", "lock"
    return "lock", "second lock"


def energises(door: Door, slot: str) -> bool:
    """Whether the device has to put power on a lock that needs power to open.

    An emergency release does. A fire contact does where the door must open in a fire; elsewhere it
    takes the power away, so that a fire-rated door stays latched.
    """
    return slot == "release" or door.fire_alarm.enter is Locking.UNLOCKED


def _fed_from(plan: Plan, door: Door) -> str:
    """The door's supply and output as written, or the only supply there is."""
    return door.supply or (next(iter(plan.supplies)) if len(plan.supplies) == 1 else "")


def own_supplies(plan: Plan, door: Door) -> tuple[str, ...]:
    """The supplies that devices of a door have of their own, those that it shares too: "S2.1"."""
    own = [str(use.settings.get("supply", "")) for use in door.devices.values()]
    shared = (written.partition(".")[0] for written in door.shared.values())
    own += (plan.job.device_supplies.get(device, "") for device in shared)
    return tuple(name.replace(" out ", ".") for name in own if name)


def feeds_of(plan: Plan, door: Door) -> tuple[Feed, ...]:
    """The nodes that feed a door, as the file says, then those of devices with a supply of their
    own; none where nothing is said."""
    written = (_fed_from(plan, door), *own_supplies(plan, door))
    found = (_feed(plan, name) for name in written)
    return tuple(dict.fromkeys(feed for feed in found if feed is not None))


def _feed(plan: Plan, written: str) -> Feed | None:
    """The nodes of "S1.1", or of a supply whose output is not said: its only or first one."""
    if not written:
        return None
    supply_id, _, output = written.partition(".")
    planned = plan.supplies[supply_id]
    device = fitted(planned.device)
    if output:
        return Feed(device.at(output), device.minus)
    if device.has("+") or device.has("A1"):
        return Feed(device.plus, device.minus)
    return Feed(device.at(min(planned.outputs, key=counted)), device.minus)
