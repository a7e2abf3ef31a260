"""One door in one situation, whole: volts of every node, amperes of every core, every contact.

The steps are those of the situation: healthy idle; what it starts from, where that is something
else; power and mode as named, as they come and settled; the event, as it begins and held.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case
from latchwork.behaviour.compiled import work_for
from latchwork.behaviour.outcomes import LockState, outcome
from latchwork.behaviour.place import ends, groups
from latchwork.behaviour.positions import conductance_rows, device_rows
from latchwork.behaviour.run import Ran, Target, run
from latchwork.behaviour.shape import compile_shape
from latchwork.behaviour.site import climate_of
from latchwork.behaviour.situations import Event, Mode, Power, Situation
from latchwork.behaviour.state import Point
from latchwork.behaviour.targets import targets
from latchwork.circuit import LoadRow, SourceRow
from latchwork.elements import Contact, Resistor, ResistorRole, Source, expr_flags
from latchwork.wiring import Wiring, merged
from latchwork.wiring.union import Union

IDLE = Situation(Power.MAINS, Mode.NORMAL, Event.NOBODY)


class Position(StrEnum):
    """Where a contact is."""

    OPEN = "open"
    CLOSED = "closed"
    FLIPS = "flips"
    """It never comes to rest."""


@dataclass(frozen=True, slots=True)
class Volts:
    """Volts of a node. None: floating, held by nothing. ``against`` is the node they are measured
    from: the minus of the source that holds this part of the circuit."""

    volts: float | None
    against: str = ""


@dataclass(frozen=True, slots=True)
class Lock:
    """A lock in one step."""

    state: LockState
    volts: float


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a situation.

    ``terminals`` by terminal, joint and open end. ``cores_a``: amperes from a conductor's start
    to its end. ``drawn_a``: amperes through coils and fuses, out of sources, into loads.
    """

    name: str
    """"idle", "before", "stage begins", "stage held", "begins" or "held"."""
    situation: Situation
    terminals: Mapping[str, Volts]
    cores_a: Mapping[str, float]
    contacts: Mapping[str, Position]
    drawn_a: Mapping[str, float]
    locks: Mapping[str, Lock]
    solved: bool
    chatter: bool


def one_door(wiring: Wiring, door: str, case: Case = Case.NOMINAL) -> Target:
    """The door by itself as it is run, with all its situations."""
    parts = [g for g in groups(wiring) if door in g.doors]
    found = targets(wiring, parts, climate_of(wiring.plan), (case,)).targets
    return next(t for t in found if t.door == door)


def close_up(wiring: Wiring, target: Target, situation: Situation) -> tuple[Step, ...]:
    """The steps of one situation, each with everything at its place."""
    planned = tuple(_steps(situation))
    wanted = tuple(dict.fromkeys(s for _, s, _ in planned))
    (ran,) = run([replace(target, situations=wanted)], work_for(1))
    names = merged(wiring)
    locks = outcome(ran, wiring.plan).locks
    steps = []
    for name, s, held in planned:
        column = wanted.index(s)
        look = _Look(ran, names, column, held)
        steps.append(
            Step(
                name,
                s,
                look.terminals(),
                look.cores_a(),
                look.contacts(),
                look.drawn_a(),
                {
                    x.device: Lock(
                        LockState(int(x.state[column, int(held)])),
                        float(x.volts[column, int(held)]),
                    )
                    for x in locks
                },
                bool(look.point.solved[column]),
                bool(look.point.chatter[column]),
            )
        )
    return tuple(steps)


def _steps(s: Situation) -> Iterator[tuple[str, Situation, bool]]:
    """Name, the situation whose column shows it, and whether its held moment does."""
    yield "idle", IDLE, True
    returns = s.power is Power.RETURNS
    mode = Mode.FIRE_ALARM if s.mode is Mode.FIRE_RESET else Mode.NORMAL
    if s.mode is Mode.TIMED_UNLOCK and s.power is not Power.MAINS:
        mode = s.mode
    before = Situation(Power.ALL_LOST if returns else Power.MAINS, mode, Event.NOBODY)
    if before != IDLE:
        yield "before", before, True
    stage = Situation(s.power, s.mode, Event.NOBODY, lost=s.lost)
    if stage != IDLE:
        yield "stage begins", stage, False
        yield "stage held", stage, True
    if s.event is not Event.NOBODY:
        yield "begins", s, False
        yield "held", s, True


class _Look:
    """One column of a run at one moment."""

    def __init__(self, ran: Ran, names: Mapping[str, str], column: int, held: bool) -> None:
        self.target = ran.target
        self.network = ran.target.network
        self.names = names
        self.column = column
        self.point: Point = ran.held if held else ran.begins
        self.amps = (ran.held_a if held else ran.begins_a)[:, column]
        self.flags: NDArray[np.bool_] = self.point.flags[:, column : column + 1]
        self.compiled = compile_shape(self.network.shape)
        self.placed = {item.name: item for item in ran.target.things.elements}

    def terminals(self) -> dict[str, Volts]:
        """Volts by every name of the wiring that this network knows."""
        islands = self._islands()
        known = self.network.nodes
        minus = self._references(islands)
        told = {}
        for name, node in self.names.items():
            number = known.get(node)
            if number is None:
                continue
            reference = minus.get(islands.find(str(number)))
            if reference is None:
                told[name] = Volts(None)
            else:
                at, called = reference
                told[name] = Volts(self._volts(number) - self._volts(at), called)
        return told

    def _volts(self, node: int) -> float:
        return float(self.point.volts[node, self.column])

    def _islands(self) -> Union:
        """Nodes that something conducting ties together."""
        shape, values = self.network.shape, self.target.values
        rows = conductance_rows(self.compiled, values, self.flags)
        pairs = [(a, b) for a, b, _ in (*shape.linear, *shape.rails)]
        ties = [pair for pair, row in zip(pairs, rows, strict=True) if _conducts(row)]
        for (_, plus, minus, _, _), row in zip(
            shape.devices, device_rows(self.compiled, values, self.flags), strict=True
        ):
            if not isinstance(row, SourceRow | LoadRow) or _conducts(row.on):
                ties.append((plus, minus))
        islands = Union()
        for a, b in ties:
            islands.join(str(a), str(b))
        return islands

    def _references(self, islands: Union) -> dict[str, tuple[int, str]]:
        """By island the node that its volts count from: the network's own reference, else the
        minus of a source in it."""
        found: dict[str, tuple[int, str]] = {}
        for item in self.target.things.elements:
            if isinstance(item.what, Source):
                node = self.network.nodes[item.b]
                called = f"{item.device}.{ends(item.what)[1]}"
                if node == 0:
                    found[islands.find("0")] = (0, called)
                else:
                    found.setdefault(islands.find(str(node)), (node, called))
        found.setdefault(islands.find("0"), (0, self.network.reference))
        return found

    def cores_a(self) -> dict[str, float]:
        """Amperes of every core, lead with a resistance, and bridge."""
        told = {}
        for n, wire in enumerate(self.target.things.conductors):
            told[wire.name] = self._through(n)
        return told

    def _through(self, n: int) -> float:
        a, b, _ = self.network.shape.linear[n]
        return (self._volts(a) - self._volts(b)) / float(self.target.values.ohm[n, 0])

    def contacts(self) -> dict[str, Position]:
        """Where every contact is."""
        told = {}
        for n, evaluate in self.compiled.gates:
            item = self.placed.get(self.network.linear[n])
            if item is None or not isinstance(item.what, Contact):
                continue
            reads = [self.network.flags[f] for f in expr_flags(item.on) if f in self.network.flags]
            if any(self.point.flips[f, self.column] for f in reads):
                told[item.name] = Position.FLIPS
            else:
                shut = bool(np.broadcast_to(evaluate(self.flags), (1,))[0])
                told[item.name] = Position.CLOSED if shut else Position.OPEN
        return told

    def drawn_a(self) -> dict[str, float]:
        """Amperes of coils and fuses, sources and loads."""
        told = {}
        conducting = conductance_rows(self.compiled, self.target.values, self.flags)
        first = len(self.target.things.conductors)
        for n, name in enumerate(self.network.linear[first:], start=first):
            item = self.placed.get(name)
            if item is None or isinstance(item.what, Contact):
                continue
            coil = not isinstance(item.what, Resistor) or item.what.role is ResistorRole.COIL
            if coil:
                told[name] = self._through(n) if _conducts(conducting[n]) else 0.0
        for name, amps in zip(self.network.devices, self.amps, strict=True):
            if name != "curve":
                told[name] = float(amps)
        return told


def _conducts(row: object) -> bool:
    return row is not None and bool(np.max(np.asarray(row)) > 0.0)
