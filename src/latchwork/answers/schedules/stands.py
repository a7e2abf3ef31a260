"""Where one stands to make a connection, and in which order one walks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from latchwork.drawing.index import Index, Owner, Sort, ends, owner_of
from latchwork.plan import Plan
from latchwork.wiring import Conductor

_WALK = ("supply", "outside", "door", "inside")
BETWEEN = "between"
"""Somewhere on the way: the job does not say where."""


@dataclass(frozen=True, slots=True)
class Stand:
    """A place: ``kind`` "supply", "outside", "door", "inside", "between" or a name, and whose."""

    kind: str
    at: str


class Stands:
    """Every node's stand, and the order of stands and devices."""

    def __init__(self, index: Index) -> None:
        self._index = index
        plan = index.plan
        self._devices = {name: n for n, name in enumerate(plan.devices)}
        self._terminals = {
            f"{device.id}.{terminal.name}": n
            for device in plan.devices.values()
            for n, terminal in enumerate(device.part.terminals)
        }
        self._halls = {name: n for n, name in enumerate((*plan.supplies, *plan.doors))}
        self._sides = _cable_ends(index)
        self._met: dict[str, list[Counter[str]]] = {}
        for sides in self._sides.values():
            for side in sides:
                for name in side:
                    self._met.setdefault(name, []).append(side)

    def owner(self, node: str) -> Owner:
        """What a node belongs to, also where nothing is joined to it any more."""
        return self._index.owners.get(node) or owner_of(self._index.plan, node)

    def of(self, node: str) -> Stand:
        """Where one stands to work at that node."""
        owner = self.owner(node)
        if owner.sort is Sort.DEVICE:
            return self._of_device(owner.id)
        if owner.sort is Sort.OPEN:
            near = _most(self._sides.get(owner.id, _NO_SIDES)[node[-1] == "2"])
            if near in self._index.plan.devices:
                return self._of_device(near)
            if near:
                # Its neighbours end at a joint or a tap.
                return self.of(next(n for n, o in self._index.owners.items() if o.id == near))
        said = _said(self._index.plan, owner)
        if said:
            return Stand(said, "")
        if owner.sort is Sort.JOINT:
            among = self._among(owner)
            if among is not None:
                return among
        for wire in self._index.at.get(node, ()):
            if isinstance(wire, Conductor):
                continue
            for far in ends(wire):
                held = self._index.owners[far]
                if held.sort is Sort.DEVICE:
                    return self._of_device(held.id)
        return Stand(BETWEEN, self._index.plan.cables[owner.id].door if owner.sort in
                     (Sort.OPEN, Sort.CUT) else owner.id.rpartition(".")[0])  # fmt: skip

    def _among(self, joint: Owner) -> Stand | None:
        """Where most other cores of a joint's cables end at its side, as the drawing has it."""
        votes: Counter[Stand] = Counter()
        for side in self._met.get(joint.id, ()):
            for other, times in side.items():
                if other in self._index.plan.devices:
                    votes[self._of_device(other)] += times
        return votes.most_common(1)[0][0] if votes else None

    def _of_device(self, device: str) -> Stand:
        stand = _of_device(self._index.plan, device)
        if stand.kind != "supply" or stand.at:
            return stand
        # A door described whole need not say its supply: its leads do.
        for terminal in self._index.plan.devices[device].part.terminals:
            for wire in self._index.at.get(f"{device}.{terminal.name}", ()):
                for far in () if isinstance(wire, Conductor) else ends(wire):
                    if self._index.owners[far].id in self._index.plan.supplies:
                        return Stand("supply", self._index.owners[far].id)
        return stand

    def order(self, node: str) -> tuple[object, ...]:
        """Sorts nodes: by stand as one walks, then device, then terminal."""
        stand, owner = self.of(node), self.owner(node)
        hall = self._halls.get(stand.at, len(self._halls))
        walk = _WALK.index(stand.kind) if stand.kind in _WALK else len(_WALK)
        # A cable may be called as a device is: "D1.exit".
        own = owner.sort is Sort.DEVICE
        device = self._devices[owner.id] if own else len(self._devices)
        return (
            *(hall, walk, stand.kind, device, owner.id, owner.sort.value),
            *(self._terminals.get(node, 0), node),
        )

    def ends_of(self, cable: str) -> tuple[str, str]:
        """The devices or joints at the two ends of a cable, "" where nothing is joined."""
        first, second = self._sides.get(cable, _NO_SIDES)
        return _most(first), _most(second)


_Sides = tuple[Counter[str], Counter[str]]
_NO_SIDES: _Sides = (Counter(), Counter())


def _most(side: Counter[str]) -> str:
    return side.most_common(1)[0][0] if side else ""


def _of_device(plan: Plan, device: str) -> Stand:
    planned = plan.devices[device]
    if device in plan.supplies:
        return Stand("supply", device)
    if planned.place in ("supply", "") and not planned.door:
        return Stand("supply", _feeding(plan, device))
    if planned.place == "supply":
        return Stand("supply", plan.doors[planned.door].door.supply.partition(".")[0])
    if planned.place in ("outside", "weather"):
        return Stand("outside", planned.door)
    if planned.place == "frame":
        return Stand("door", planned.door)
    return Stand(planned.place, planned.door)


def _feeding(plan: Plan, device: str) -> str:
    """The supply beside which a shared device stands: its own, else that of a door it serves."""
    own = plan.job.device_supplies.get(device, "")
    served = (d.door.supply for d in plan.doors.values() if device in d.devices.values())
    return (own or next(served, "")).partition(".")[0]


def _said(plan: Plan, owner: Owner) -> str:
    """Where the file says that a joint or tap is."""
    if owner.sort is Sort.TAP:
        return plan.job.taps[owner.id].place
    door, _, name = owner.id.rpartition(".")
    joints = plan.job.doors[door].joints if door in plan.job.doors else plan.job.joints
    return joints[name].place if name in joints else ""


def _cable_ends(index: Index) -> dict[str, _Sides]:
    """Cable -> what its cores meet at either end, with how many of them do.

    A core's first end is put to the side that it shares a device with, whatever its row's order.
    What meets it on its way, such as a tap, is at neither end.
    """
    sides: dict[str, _Sides] = {}
    for cable, start, end in _whole_cores(index.wiring.conductors):
        first, second = sides.setdefault(cable, (Counter(), Counter()))
        a, b = index.owners[start], index.owners[end]
        turned = second[a.id] + first[b.id] > first[a.id] + second[b.id]
        for side, owner in ((first, b if turned else a), (second, a if turned else b)):
            if owner.sort in (Sort.DEVICE, Sort.JOINT, Sort.TAP):
                side[owner.id] += 1
    return sides


def _whole_cores(conductors: Iterable[Conductor]) -> Iterable[tuple[str, str, str]]:
    """Cable and two ends of every core, however many stretches it is cut into.

    The stretches of a core follow each other from its first end to its last.
    """
    cores: dict[tuple[str, str], tuple[str, str]] = {}
    for piece in conductors:
        key = piece.cable, piece.core
        start, _ = cores.get(key, (piece.start, ""))
        cores[key] = start, piece.end
    return ((cable, *pair) for (cable, _), pair in cores.items())
