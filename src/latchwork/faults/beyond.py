"""Doors whose circuits meet, as behind one fire contact: which faults of one the others feel.

A fault is run at the doors that it is at. What others have in common with those is the nodes where
their things meet, and the flags that things of both read. While nothing of that is otherwise, in
none of the situations of those doors, the rest of the circuit is as it is without the fault, and
so are the other doors; but for what is done at one of them and alters what they have in common.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Network, PlacedElement, Things, full_names
from latchwork.behaviour.script import Script
from latchwork.behaviour.situations import Event, Mode, Situation
from latchwork.behaviour.solved import Solved
from latchwork.elements import Expr, Input, Source, expr_flags
from latchwork.faults.listing import FAULT_FLAG
from latchwork.faults.model import Fault, FaultKind
from latchwork.plan import Plan

Bools = NDArray[np.bool_]
Doors = frozenset[str]
FELT_V = 0.25
"""Others feel a fault that moves a node that they share by more than this, whichever way (common
practice, no source: parts of one type differ by more)."""
REACHES_V = 1.0
"""What is done at a door reaches others where it moves a node that they share by more than this,
which is more than a lock or two do by what they draw (common practice, no source)."""
ITS_OWN = (Mode.TAMPER, Mode.LOCKED_OUT, Mode.TIMED_UNLOCK)
"""Modes of one door."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What others have in common with some doors: nodes and flags by number."""

    nodes: tuple[int, ...]
    flags: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Deed:
    """A situation in which somebody does something at a door, the one in which nobody does (by
    number), and the doors that have the same situation among theirs."""

    done: int
    nobody: int
    known: Doors


@dataclass(frozen=True, slots=True)
class Beyond:
    """What the doors of a cell have in common.

    ``homes``: the doors at which each fault is, by its name; ``shared``: by these what others have
    in common with them; ``nodes``, ``flags``: by number, and whose they are; ``deeds``: by door.
    """

    homes: Mapping[str, Doors]
    shared: Mapping[Doors, Shared]
    nodes: tuple[tuple[int, Doors], ...]
    flags: tuple[tuple[int, Doors], ...]
    deeds: Mapping[str, tuple[Deed, ...]]


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
        self._element = {item.name: self.device(item.device) for item in sound.elements}
        self._at: dict[str, Doors] = defaultdict(frozenset)
        for wire in sound.conductors:
            for node in (wire.a, wire.b):
                self._at[node] |= self._wire[wire.name]
        for item in sound.elements:
            for node in (item.a, item.b):
                self._at[node] |= self.device(item.device)

    def _door(self, door: str) -> Doors:
        return frozenset((door,)) if door in self.every else self.every

    def device(self, device: str) -> Doors:
        """The doors that use a device."""
        return self._device.get(device, self.every)

    def flag(self, flag: str) -> Doors:
        """The doors whose part sets a flag."""
        door, colon, _ = flag.partition(":")
        if colon:
            return self._door(door)
        fuse = self._element.get(flag.removesuffix(".blown"))
        return fuse or self.device(flag.rpartition(".")[0])

    def nodes(self) -> Iterable[tuple[str, Doors]]:
        """Every node, and the doors whose things stand at it."""
        return self._at.items()

    def at(self, node: str) -> Doors:
        """The doors whose things stand at a node."""
        return self._at[node]

    def fault(self, fault: Fault, ends: Mapping[str, tuple[str, str]]) -> Doors:
        """The doors at which a fault is. ``ends`` of all branches: what joins two nodes at which
        other doors' things stand may pass by those, and is theirs too."""
        if fault.kind is FaultKind.SITE:
            return self.every
        its: Doors = frozenset()
        for name in fault.subjects:
            device = name if fault.kind is FaultKind.STATE else name.rpartition(".")[0]
            its |= self._wire.get(name) or self.device(device)
        for edit in fault.edits:
            both = [self.at(node) for node in ends.get(edit.name, ())]
            if both and all(whose - its for whose in both):
                its = its.union(*both)
        return its


def beyond(
    plan: Plan,
    sound: Things,
    whole: Things,
    network: Network,
    faults: Sequence[Fault],
    scripts: Mapping[str, Script],
    situations: Mapping[str, Sequence[Situation]],
    run: Doors,
) -> Beyond:
    """What the doors of a cell, by which ``scripts`` and ``situations`` are, have in common.

    ``whole``: its things with places for faults. A fault that is at none of the doors that are
    ``run`` is at all of them.
    """
    whose = _Whose(plan, sound, tuple(scripts))
    ends = {wire.name: (wire.a, wire.b) for wire in whole.conductors}
    ends |= {item.name: (item.a, item.b) for item in whole.elements}
    homes = {fault.id: whose.fault(fault, ends) for fault in faults}
    homes = {name: its if its & run else whose.every for name, its in homes.items()}
    # A place for a short may end at a node where nothing of the door's stands but the fault.
    joined: dict[Doors, set[str]] = defaultdict(set)
    for fault in faults:
        for edit in fault.edits:
            joined[homes[fault.id]].update(ends.get(edit.name, ()))
    flags = tuple(_flags(whose, sound, network))
    shared = {}
    for home in set(homes.values()):
        meet = {node for node, its in whose.nodes() if its & home} | joined[home]
        outer = sorted(network.nodes[node] for node in meet if whose.at(node) - home)
        shared[home] = Shared(tuple(outer), tuple(n for n, its in flags if its - home))
    return Beyond(
        homes,
        shared,
        tuple((network.nodes[node], its) for node, its in whose.nodes()),
        flags,
        {door: tuple(_deeds(door, scripts, situations[door])) for door in scripts},
    )


def _flags(whose: _Whose, sound: Things, network: Network) -> Iterator[tuple[int, Doors]]:
    """Every flag that no input and no fault sets; the doors whose parts set and read it."""
    readers: dict[str, Doors] = defaultdict(frozenset)

    def reads(expr: Expr, doors: Doors) -> None:
        for flag in expr_flags(expr):
            readers[flag] |= doors

    for rule in sound.rules:
        for expr in rule.exprs:
            reads(expr, whose.flag(rule.flag))
    for item in sound.elements:
        for expr in _exprs(item):
            reads(expr, whose.device(item.device))
    given = {rule.flag for rule in sound.rules if isinstance(rule.what, Input)}
    for flag, number in network.flags.items():
        if flag not in given | network.inputs and not flag.startswith(FAULT_FLAG):
            yield number, whose.flag(flag) | readers[flag]


def _exprs(item: PlacedElement) -> Iterator[Expr]:
    yield item.on
    if isinstance(item.what, Source) and item.what.low_when is not None:
        yield full_names(item.what.low_when, item.device, item.door)


def _deeds(door: str, scripts: Mapping[str, Script], asked: Sequence[Situation]) -> Iterator[Deed]:
    every = {name: set(_inputs(its)) for name, its in scripts.items()}
    for n, (inputs, its) in enumerate(zip(_inputs(scripts[door]), asked, strict=True)):
        mode = Mode.NORMAL if its.mode in ITS_OWN else its.mode
        nobody = Situation(its.power, mode, Event.NOBODY, "", its.lost)
        if nobody != its and nobody in asked:
            known = frozenset(name for name, theirs in every.items() if inputs in theirs)
            yield Deed(n, asked.index(nobody), known)


def _inputs(script: Script) -> list[object]:
    """What each situation sets."""
    return [
        (script.before[stage], script.then[stage], event, still)
        for stage, event, still in script.columns
    ]


def felt(solved: Solved, shared: Shared, sound: int, members: NDArray[np.intp]) -> Bools:
    """Which members, of one script, alter what is shared, held against a sound one."""
    found = np.zeros(len(members), dtype=bool)
    for part in solved.parts:
        for point in (part.begins, part.held):
            flags, usual = _lines(point.flags, shared.flags, members, sound, solved)
            found |= (flags != usual).any(axis=(0, 2))
            volts, usual = _lines(point.volts, shared.nodes, members, sound, solved)
            found |= ~(np.abs(volts - usual) <= FELT_V).all(axis=(0, 2))
    return found


def _lines(
    table: NDArray[Any], rows: Sequence[int], members: NDArray[np.intp], sound: int, solved: Solved
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Some rows of a table, by member and column; and those of a sound one."""
    apart = table.reshape(len(table), len(solved.scripts), -1)
    some = np.array(rows, dtype=np.intp)
    return apart[some[:, np.newaxis], members], apart[some, sound][:, np.newaxis]


def reached(solved: Solved, its: Beyond, door: str, sound: int) -> Doors:
    """The other doors for which what is done at one alters what they have in common with it."""
    deeds = its.deeds[door]
    if not deeds:
        return frozenset()
    columns = [np.array([d.done for d in deeds]), np.array([d.nobody for d in deeds])]
    member = np.full(len(deeds), sound)
    found: set[str] = set()
    for held in (False, True):
        for name, rows, most in (("flags", its.flags, 0.0), ("volts", its.nodes, REACHES_V)):
            chosen = [n for n, _ in rows]
            done, nobody = (
                solved.at(name, member, some, held=held)[chosen].astype(float) for some in columns
            )
            for row, deed in np.argwhere(~(np.abs(done - nobody) <= most)).tolist():
                found |= rows[row][1] - deeds[deed].known
    return frozenset(found - {door})
