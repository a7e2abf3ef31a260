"""What belongs on one door's drawing: its devices and wires, and the way to its supply."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from latchwork.drawing.index import Index, Joining, Owner, Sort, contacts, ends
from latchwork.drawing.texts import say
from latchwork.plan import PlannedDevice
from latchwork.wiring import Conductor

SOURCES = frozenset({"supply", "timed supply", "transformer", "poe port"})

ON_DOOR = frozenset({"lock", "second lock", "bar", "contact", "latch contact", "diode", "varistor"})
"""Slots of what stands on the leaf or in the frame."""


@dataclass(frozen=True, slots=True)
class Thing:
    """What will be a block: its pins in order, as (node, name)."""

    owner: Owner
    place: str
    pins: tuple[tuple[str, str], ...]
    others: bool = False
    """Whether wires end on it that are left out here."""
    beside: str = ""
    """Of open ends: the thing at which their cable's other cores end there."""


@dataclass(frozen=True, slots=True)
class Subject:
    """The things and wires of a door's drawing."""

    door: str
    things: tuple[Thing, ...]
    wires: tuple[Joining, ...]


def subject(index: Index, door_id: str) -> Subject:
    """Everything of a door, and of the site what its feed runs through.

    Raises KeyError for a door that is not there.
    """
    plan = index.plan
    own = index.of_door.get(door_id, ())
    wires = (*own, *_upstream(index, door_id, own))
    wires += _absent(index, wires)
    used: dict[str, None] = {}
    for wire in wires:
        used.update(dict.fromkeys(ends(wire)))
    shown = dict.fromkeys(plan.doors[door_id].devices.values())
    by_id: dict[tuple[Sort, str], dict[str, str]] = {}
    for node in used:
        owner = index.owners[node]
        by_id.setdefault(_group(owner, node), {})[node] = _name(owner, node)
        if owner.sort is Sort.DEVICE:
            shown[owner.id] = None
    drawn = {id(wire) for wire in wires}
    things = [_device(index, name, used, drawn) for name in shown]
    things += [
        Thing(Owner(sort, name, ""), "", tuple(pins.items()), _others(index, pins, drawn))
        for (sort, name), pins in by_id.items()
        if sort is not Sort.DEVICE
    ]
    placed = _placed(index, things, wires)
    return Subject(door_id, tuple(placed), wires)


def _others(index: Index, nodes: Iterable[str], drawn: Collection[int]) -> bool:
    """Whether wires end at ``nodes`` that are not among those that are ``drawn``."""
    return any(id(wire) not in drawn for node in nodes for wire in index.at.get(node, ()))


def _group(owner: Owner, node: str) -> tuple[Sort, str]:
    """Open ends go by the end of their cable, cuts by their cable."""
    if owner.sort is Sort.OPEN:
        return owner.sort, f"{owner.id}@{node[-1]}"
    return owner.sort, owner.id


def _name(owner: Owner, node: str) -> str:
    if owner.sort is Sort.JOINT:
        return say("pin.beyond" if node.endswith("~") else "pin.joint")
    if owner.sort is Sort.CUT and node[-1] in "ab":
        return say("pin.near" if node[-1] == "a" else "pin.far", core=owner.pin)
    return owner.pin


def _upstream(index: Index, door_id: str, own: Iterable[Joining]) -> tuple[Joining, ...]:
    """Wires of the site, or of doors that feed a shared device, on the way to a supply."""
    plan = index.plan
    seen = {id(wire) for wire in own}
    frontier = [node for wire in own for node in ends(wire)]
    frontier += _feeds(index, door_id, frontier)
    reached = set(frontier)
    firm = set(frontier)
    found: list[Joining] = []
    while frontier:
        node = frontier.pop()
        owner = index.owners[node]
        device = plan.devices.get(owner.id) if owner.sort is Sort.DEVICE else None
        if device is not None and (device.door or device.part.kind in SOURCES):
            firm.add(node)
            continue
        for far in () if device is None else _through(index, owner):
            firm.update((node, far))
            if far not in reached:
                reached.add(far)
                frontier.append(far)
        for wire in index.at.get(node, ()):
            if id(wire) in seen or _of_another(index, wire, door_id):
                continue
            seen.add(id(wire))
            found.append(wire)
            for far in ends(wire):
                if far not in reached:
                    reached.add(far)
                    frontier.append(far)
    return _without_dead_ends(found, firm)


def _absent(index: Index, wires: Sequence[Joining]) -> tuple[Joining, ...]:
    """Cores of the site that should join what is drawn: from a tap or a terminal to another."""
    met = {node for wire in wires for node in ends(wire)}

    def shared(node: str) -> bool:
        owner = index.owners[node]
        return owner.sort is Sort.DEVICE and not index.plan.devices[owner.id].door

    return tuple(
        wire
        for wire in index.wiring.absent
        if not (wire.door or wire in wires or met.isdisjoint(ends(wire)))
        and all(node in met or shared(node) for node in ends(wire))
    )


def _feeds(index: Index, door_id: str, nodes: Iterable[str]) -> list[str]:
    """Where the shared devices that a door uses are fed, which may be another door's doing."""
    owners = [index.owners[node] for node in nodes]
    used = [owner.id for owner in owners if owner.sort is Sort.DEVICE]
    used += index.plan.doors[door_id].devices.values()
    return [
        f"{name}.{terminal}"
        for name in dict.fromkeys(used)
        if not index.plan.devices[name].door
        for terminal in ("+", "-", "A1", "A2")
        if f"{name}.{terminal}" in index.at
    ]


def _through(index: Index, owner: Owner) -> Iterable[str]:
    """The wired nodes that a site device's contacts lead on to."""
    for contact in contacts(index.plan.devices[owner.id].part):
        for near, far in ((contact.a, contact.b), (contact.b, contact.a)):
            if near == owner.pin and f"{owner.id}.{far}" in index.at:
                yield f"{owner.id}.{far}"


def _of_another(index: Index, wire: Joining, door_id: str) -> bool:
    """Whether a wire touches another door's device, or a joint or fault of its cables."""
    for node in ends(wire):
        owner = index.owners[node]
        if owner.sort is Sort.DEVICE:
            door = index.plan.devices[owner.id].door
        elif owner.sort is Sort.JOINT:
            door = "" if owner.id in index.plan.job.joints else wire.door
        else:
            door = wire.door if owner.sort in (Sort.CUT, Sort.OPEN) else ""
        if door not in ("", door_id):
            return True
    return False


def _without_dead_ends(found: list[Joining], firm: set[str]) -> tuple[Joining, ...]:
    """Take away, again and again, what leads nowhere: a trunk beyond the door's own tap."""
    while True:
        met = Counter(node for wire in found for node in ends(wire))
        kept = [w for w in found if all(met[n] > 1 or n in firm for n in ends(w))]
        if len(kept) == len(found):
            return tuple(kept)
        found = kept


def _device(index: Index, name: str, used: dict[str, None], drawn: Collection[int]) -> Thing:
    """A device with its pins: all of its own door's, of a shared one those that matter here."""
    device = index.plan.devices[name]
    terminals = [terminal.name for terminal in device.part.terminals]
    shown = terminals
    if not device.door:
        touched = {t for t in terminals if f"{name}.{t}" in used}
        for contact in contacts(device.part):
            if touched & {contact.a, contact.b}:
                touched |= {contact.a, contact.b}
        shown = [t for t in terminals if t in touched] or terminals
    pins = tuple((f"{name}.{t}", t) for t in shown)
    others = _others(index, (f"{name}.{t}" for t in terminals), drawn)
    return Thing(Owner(Sort.DEVICE, name, ""), _strip(device), pins, others)


def _strip(device: PlannedDevice) -> str:
    """The strip a device is drawn in: what is out in the weather stands outside, or on the door."""
    if device.place not in ("weather", "frame"):
        return device.place
    return "door" if device.place == "frame" or device.slot in ON_DOOR else "outside"


def _placed(index: Index, things: list[Thing], wires: Sequence[Joining]) -> list[Thing]:
    """Give what has no place of its own that of the devices beside it: where the other cores of
    its cables end, or else where its leads go."""
    place_of = {node: thing.place for thing in things if thing.place for node, _ in thing.pins}
    near: dict[str, Counter[str]] = {}
    owner_of = {node: thing.owner.id for thing in things if thing.place for node, _ in thing.pins}
    cable_ends: dict[str, Counter[str]] = {}
    for wire in wires:
        pair = ends(wire)
        for number, (node, far) in enumerate((pair, pair[::-1]), 1):
            if not isinstance(wire, Conductor) and far in place_of:
                near.setdefault(node, Counter())[place_of[far]] += 1
            if isinstance(wire, Conductor) and node in place_of:
                at = cable_ends.setdefault(f"{wire.cable}@{number}", Counter())
                at[owner_of[node]] += 1
    places = {thing.owner.id: thing.place for thing in things if thing.place}
    with_it: dict[str, Counter[str]] = {}
    for wire in wires:
        for number, node in enumerate(ends(wire), 1):
            if isinstance(wire, Conductor) and node not in place_of:
                for owner, times in cable_ends.get(f"{wire.cable}@{number}", {}).items():
                    with_it.setdefault(node, Counter())[places[owner]] += times
    return [
        t if t.place else _beside(index, t, (with_it, near), cable_ends, places) for t in things
    ]


def _beside(
    index: Index,
    thing: Thing,
    nearest: Iterable[Mapping[str, Counter[str]]],
    cable_ends: Mapping[str, Counter[str]],
    places: Mapping[str, str],
) -> Thing:
    said = said_place(index, thing.owner)
    votes: Counter[str] = Counter()
    beside = ""
    if thing.owner.sort is Sort.OPEN and thing.owner.id in cable_ends:
        beside = cable_ends[thing.owner.id].most_common(1)[0][0]
        return replace(thing, place=places[beside], beside=beside)
    if thing.owner.sort is Sort.JOINT and not said:
        for near in nearest:
            for node, _ in thing.pins if not votes else ():
                votes += near.get(node, Counter())
    place = votes.most_common(1)[0][0] if votes else "between"
    return replace(thing, place=place)


def said_place(index: Index, owner: Owner) -> str:
    """Where the file says a joint or tap is; "" where it does not."""
    job = index.plan.job
    if owner.sort is Sort.TAP:
        return job.taps[owner.id].place
    door, _, name = owner.id.rpartition(".")
    joints = job.doors[door].joints if door in job.doors else job.joints
    return joints[name].place if name in joints else ""
