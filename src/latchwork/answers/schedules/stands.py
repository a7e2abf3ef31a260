"""Where one stands to make a connection, and in which order one walks."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from latchwork.drawing.index import Index, Owner, Sort, ends
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
        self._beside = _cable_ends(index)

    def of(self, node: str) -> Stand:
        """Where one stands to work at that node."""
        owner = self._index.owners[node]
        if owner.sort is Sort.DEVICE:
            return _of_device(self._index.plan, owner.id)
        if owner.sort is Sort.OPEN:
            near = self._beside.get(f"{owner.id}@{node[-1]}")
            if near:
                return _of_device(self._index.plan, near)
        said = _said(self._index.plan, owner)
        if said:
            return Stand(said, "")
        for wire in self._index.at.get(node, ()):
            if isinstance(wire, Conductor):
                continue
            for far in ends(wire):
                held = self._index.owners[far]
                if held.sort is Sort.DEVICE:
                    return _of_device(self._index.plan, held.id)
        return Stand(BETWEEN, self._index.plan.cables[owner.id].door if owner.sort in
                     (Sort.OPEN, Sort.CUT) else owner.id.rpartition(".")[0])  # fmt: skip

    def order(self, node: str) -> tuple[object, ...]:
        """Sorts nodes: by stand as one walks, then device, then terminal."""
        stand, owner = self.of(node), self._index.owners[node]
        hall = self._halls.get(stand.at, len(self._halls))
        walk = _WALK.index(stand.kind) if stand.kind in _WALK else len(_WALK)
        device = self._devices.get(owner.id, len(self._devices))
        return hall, walk, stand.kind, device, owner.id, self._terminals.get(node, 0), node

    def ends_of(self, cable: str) -> tuple[str, str]:
        """The devices or joints at the two ends of a cable, "" where nothing is joined."""
        return self._beside.get(f"{cable}@1", ""), self._beside.get(f"{cable}@2", "")


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
    if planned.place in _WALK:
        return Stand(planned.place, planned.door)
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


def _cable_ends(index: Index) -> dict[str, str]:
    """ "cable@1" and "cable@2" -> what most of its cores meet at that end.

    A core's first end is put to the side that it shares a device with, whatever its row's order.
    """
    sides: dict[str, tuple[Counter[str], Counter[str]]] = {}
    for core in index.wiring.conductors:
        first, second = sides.setdefault(core.cable, (Counter(), Counter()))
        a, b = index.owners[core.start], index.owners[core.end]
        turned = second[a.id] + first[b.id] > first[a.id] + second[b.id]
        for side, owner in ((first, b if turned else a), (second, a if turned else b)):
            if owner.sort in (Sort.DEVICE, Sort.JOINT, Sort.TAP):
                side[owner.id] += 1
    found: dict[str, str] = {}
    for cable, pair in sides.items():
        for n, side in enumerate(pair, start=1):
            if side:
                found[f"{cable}@{n}"] = side.most_common(1)[0][0]
    return found
