"""Doors whose circuits meet, as behind one fire contact: which faults of one the others feel.

A fault is run at the doors that it is at. What others have in common with those is the nodes where
their things meet. While these stand as they do without the fault, in all the situations that
others have too, the rest of the circuit is as it is without it, and so are the other doors. Two
kinds of doors are not left out so: one at which something is done that moves a node of the fault's
doors or alters the current in a core of theirs, and one where something is so near the volts at
which it moves that what others do not feel may move it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Things
from latchwork.behaviour.script import Script
from latchwork.behaviour.situations import Event, Mode, Situation
from latchwork.behaviour.solved import Solved
from latchwork.faults.engine import Cell
from latchwork.faults.model import Fault, FaultKind
from latchwork.plan import Plan

Bools = NDArray[np.bool_]
Doors = frozenset[str]
FELT_V = 0.05
"""Others feel a fault that moves a node that they share by more than this, whichever way (common
practice, no source; what so little may yet move stands on an edge, see below)."""
EDGE_V = 2 * FELT_V
"""A door feels any fault where something of it is so near the volts at which it moves: both its
ends may be moved by what is not felt."""
REACHES_V = 1.0
"""What is done at a door alters what it has in common with others where it moves a node by more
than this, which is more than a lock does by what it draws (common practice, no source)."""
REACHES_A = 0.01
"""Or where it alters by more than this what flows in a core that is theirs: on 100 Ω, the worst
joint that is tried, it is a volt."""
ITS_OWN = (Mode.TAMPER, Mode.LOCKED_OUT, Mode.TIMED_UNLOCK)
"""Modes of one door."""


@dataclass(frozen=True, slots=True)
class Edge:
    """Volts from one node to another at which something of a door moves; ``either_way``: their
    sign does not count."""

    a: int
    b: int
    either_way: bool
    volts: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Wire:
    """A core or lead of some doors, not of all: its ends by number, and its ohms."""

    a: int
    b: int
    ohm: float
    doors: Doors


@dataclass(frozen=True, slots=True)
class Beyond:
    """What the doors of a cell have in common.

    ``homes``: the doors at which each fault is, by its name; ``nodes``: by number, and whose things
    stand there; ``wires``. By door: ``known``, for each of its situations the doors that have it
    among theirs; ``deeds``, situations in which something is done there, with those in which nobody
    does that; ``edges``.
    """

    homes: Mapping[str, Doors]
    nodes: tuple[tuple[int, Doors], ...]
    wires: tuple[Wire, ...]
    known: Mapping[str, tuple[Doors, ...]]
    deeds: Mapping[str, tuple[tuple[int, int], ...]]
    edges: Mapping[str, tuple[Edge, ...]]

    def shared(self, home: Doors) -> list[int]:
        """The nodes that others have in common with some doors."""
        return [node for node, its in self.nodes if its & home and its - home]


class _Whose:
    """Whose each thing of a cell is: one door's, that of several that use a part, all doors'."""

    def __init__(self, plan: Plan, sound: Things, doors: Sequence[str]) -> None:
        self.every = frozenset(doors)
        users: dict[str, set[str]] = defaultdict(set)
        for door in doors:
            for device in plan.doors[door].devices.values():
                users[device].add(door)
        for device, placed in plan.devices.items():
            if placed.door in self.every:
                users[device].add(placed.door)
        self._device = {device: frozenset(its) for device, its in users.items()}
        self._wire = {wire.name: self._door(wire.door) for wire in sound.conductors}
        self._at: dict[str, Doors] = defaultdict(frozenset)
        for wire in sound.conductors:
            for node in (wire.a, wire.b):
                self._at[node] |= self._wire[wire.name]
        for item in sound.elements:
            for node in (item.a, item.b):
                self._at[node] |= self.device(item.device)
        for wire in sound.conductors:
            # Others' things at both ends: it may carry the current of any door.
            if all(self._at[node] - self._wire[wire.name] for node in (wire.a, wire.b)):
                self._wire[wire.name] = self.every

    def _door(self, door: str) -> Doors:
        return frozenset((door,)) if door in self.every else self.every

    def device(self, device: str) -> Doors:
        """The doors that use a device."""
        return self._device.get(device, self.every)

    def wire(self, name: str) -> Doors:
        """The doors that a core or lead is of."""
        return self._wire[name]

    def nodes(self) -> Iterable[tuple[str, Doors]]:
        """Every node, and the doors whose things stand at it."""
        return self._at.items()

    def fault(self, fault: Fault) -> Doors:
        """The doors at which a fault is."""
        if fault.kind is FaultKind.SITE:
            return self.every
        its: Doors = frozenset()
        for name in fault.subjects:
            device = name if fault.kind is FaultKind.STATE else name.rpartition(".")[0]
            its |= self._wire.get(name) or self.device(device)
        return its


def beyond(plan: Plan, sound: Things, cell: Cell, run: Doors) -> Beyond:
    """What the doors of a cell have in common. ``sound``: its things without places for faults. A
    fault that is at none of the doors that are ``run`` is at all of them."""
    whose = _Whose(plan, sound, cell.doors)
    homes = {fault.id: whose.fault(fault) for fault in cell.faults}
    inputs = {door: _inputs(its) for door, its in zip(cell.doors, cell.scripts, strict=True)}
    every = {door: frozenset(its) for door, its in inputs.items()}
    return Beyond(
        {name: its if its & run else whose.every for name, its in homes.items()},
        tuple((cell.network.nodes[node], its) for node, its in whose.nodes()),
        tuple(_wires(cell, sound, whose)),
        {
            door: tuple(frozenset(d for d in every if each in every[d]) for each in its)
            for door, its in inputs.items()
        },
        dict(zip(cell.doors, map(_deeds, cell.situations), strict=True)),
        _edges(cell, whose),
    )


def _wires(cell: Cell, sound: Things, whose: _Whose) -> Iterator[Wire]:
    rows, nodes = cell.names.rows["ohm"], cell.network.nodes
    for wire in sound.conductors:
        doors, ohm = whose.wire(wire.name), float(cell.values.ohm[rows[wire.name], 0])
        if doors != whose.every:
            yield Wire(nodes[wire.a], nodes[wire.b], ohm, doors)


def _edges(cell: Cell, whose: _Whose) -> Mapping[str, tuple[Edge, ...]]:
    """The volts at which senses and bolts move, by door."""
    found: dict[str, list[Edge]] = {door: [] for door in cell.doors}
    network, numbers = cell.network, cell.values
    both = np.stack([numbers.sense_on_v, numbers.sense_off_v], axis=1)
    volts = [*both[:, :, 0], *numbers.bolt_v[:, 0].reshape(-1, 4)]
    names = (*network.senses, *network.bolts)
    things = (*network.shape.senses, *network.shape.bolts)
    for name, one, its in zip(names, things, volts, strict=True):
        for door in whose.device(name.rpartition(".")[0]):
            found[door].append(Edge(one.a, one.b, one.either_way, tuple(its.tolist())))
    return {door: tuple(edges) for door, edges in found.items()}


def _deeds(asked: Sequence[Situation]) -> tuple[tuple[int, int], ...]:
    """Situations in which something is done at a door, with those in which nobody does."""
    found = []
    for n, its in enumerate(asked):
        mode = Mode.NORMAL if its.mode in ITS_OWN else its.mode
        nobody = Situation(its.power, mode, Event.NOBODY, "", its.lost)
        if nobody != its and nobody in asked:
            found.append((n, asked.index(nobody)))
    return tuple(found)


def _inputs(script: Script) -> list[object]:
    """What each situation sets."""
    return [
        (script.before[stage], script.then[stage], event, still)
        for stage, event, still in script.columns
    ]


def felt(
    solved: Solved, its: Beyond, door: str, home: Doors, sound: int, members: NDArray[np.intp]
) -> Bools:
    """Which members at a door, with faults that are at ``home``, move what others have in common
    with that, held against a sound one."""
    found = np.zeros(len(members), dtype=bool)
    those = [n for n, doors in enumerate(its.known[door]) if doors - home]
    for held in (False, True) if those else ():
        every = np.append(members, sound)
        volts = _at(solved, every, np.array(those), its.shared(home), held=held)
        found |= ~(np.abs(volts[:, :-1] - volts[:, -1:]) <= FELT_V).all(axis=(0, 2))
    return found


def concerned(solved: Solved, its: Beyond, door: str, sound: int) -> Doors:
    """The other doors whose faults bear on what happens at one, felt where they are or not."""
    every = frozenset(its.known)
    if _on_edge(solved, its.edges[door], sound):
        return every - {door}
    found: set[str] = set()
    done, nobody = np.array(its.deeds[door], dtype=np.intp).reshape(-1, 2).T
    nodes = [node for node, _ in its.nodes]
    whose = [doors for _, doors in its.nodes] + [wire.doors for wire in its.wires]
    place = {node: n for n, node in enumerate(nodes)}
    from_to = np.array([(place[w.a], place[w.b]) for w in its.wires], dtype=np.intp).reshape(-1, 2)
    ohms = np.array([w.ohm for w in its.wires]).reshape(-1, 1)
    for held in (False, True):
        now, usual = (_at(solved, np.array([sound]), s, nodes, held=held) for s in (done, nobody))
        moved = (now - usual)[:, 0]
        amps = (moved[from_to[:, 0]] - moved[from_to[:, 1]]) / ohms
        reached = np.concatenate([~(np.abs(moved) <= REACHES_V), ~(np.abs(amps) <= REACHES_A)])
        for n, deed in np.argwhere(reached).tolist():
            found |= whose[n] - its.known[door][done[deed]]
    return frozenset(found - {door})


def _on_edge(solved: Solved, edges: Sequence[Edge], sound: int) -> bool:
    one, every = np.array([sound]), np.arange(len(solved.scripts[sound].columns))
    ends = [node for edge in edges for node in (edge.a, edge.b)]
    for held in (False, True):
        volts = _at(solved, one, every, ends, held=held)[:, 0]
        for edge, at_a, at_b in zip(edges, volts[::2], volts[1::2], strict=True):
            across = np.abs(at_a - at_b) if edge.either_way else at_a - at_b
            if any((np.abs(across - volt) < EDGE_V).any() for volt in edge.volts):
                return True
    return False


def _at(
    solved: Solved,
    members: NDArray[np.intp],
    situations: NDArray[np.intp],
    nodes: Sequence[int],
    *,
    held: bool,
) -> NDArray[np.float64]:
    """Volts of some nodes: nodes x members x situations."""
    whose = np.repeat(members, len(situations))
    volts = solved.at("volts", whose, np.tile(situations, len(members)), held=held)
    found: NDArray[np.float64] = volts[nodes]
    return found.reshape(len(nodes), len(members), len(situations))
