"""What a meter shows at every terminal, in the situations a fitter can make at a door.

A reading is a solve with the meter in the circuit. With every contact at rest the circuit is a
source of V behind a resistance R as seen from two terminals (Thévenin), so a meter of resistance M
shows V * M / (M + R). A terminal that nothing holds shows 0 V, not the number that a floating
node has.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from latchwork.behaviour.cases import Case
from latchwork.behaviour.compiled import work_for
from latchwork.behaviour.copper import ohms_from
from latchwork.behaviour.place import ends
from latchwork.behaviour.positions import conductance_rows, device_rows
from latchwork.behaviour.run import Ran, Target
from latchwork.behaviour.shape import Array, Compiled, compile_shape
from latchwork.behaviour.site import Progress, SiteOutcome, Started, run_all
from latchwork.behaviour.situations import DoorInputs, Event, Mode, Power, Situation
from latchwork.circuit import LoadRow, SourceRow
from latchwork.elements import Bolt, Load, Resistor, ResistorRole, Source
from latchwork.plan import Plan
from latchwork.wiring import Wiring, merged
from latchwork.wiring.union import Union

METER_OHM = 10e6
"""A digital voltmeter's usual input resistance (common practice, no source)."""
FLOATS_S = 1e-12
"""Ties every node to ground for the sake of a matrix without holes; a meter sees 0 V through it."""
HELD_S = 1.0
"""Ties the node that a meter's black lead is on."""


@dataclass(frozen=True, slots=True)
class Metered:
    """One door in one case. ``volts`` by terminal, joint and open end, over the situations;
    ``against`` the terminal that the black lead is on; ``locks`` across each lock's own feed
    terminals, by device; ``amps`` by coil, load and source."""

    door: str
    case: Case
    situations: tuple[Situation, ...]
    volts: Mapping[str, Array]
    against: Mapping[str, str]
    locks: Mapping[str, Array]
    amps: Mapping[str, Array]
    alternating: bool
    solved: bool


def fitter_situations(inputs: DoorInputs) -> tuple[Situation, ...]:
    """Idle, granted, each exit request, released, mains off: what the door's kit lets one do."""
    found = [Situation(Power.MAINS, Mode.NORMAL, Event.NOBODY)]
    for event, which in inputs.events():
        if event in (Event.CREDENTIAL, Event.EXIT, Event.RELEASE) and inputs.event(event, which):
            found.append(Situation(Power.MAINS, Mode.NORMAL, event, which))
    found.append(Situation(Power.BATTERY, Mode.NORMAL, Event.NOBODY))
    return tuple(found)


METERED_CASES = frozenset({Case.NOMINAL, Case.LEAST_VOLTS, Case.MOST_VOLTS})


def behave_and_meter(
    wiring: Wiring, progress: Progress | None = None
) -> tuple[SiteOutcome, Mapping[str, Mapping[Case, Metered]]]:
    """As ``behave``, with every door as a meter would show it, by door and case: the same run."""
    site = Started(wiring)
    metering = _Metering(wiring, site.todo)
    # How many are metered does not tell whether compiled code pays: they stand beside the others.
    work = work_for(len(site.todo))
    run_all([site, metering], work, progress)
    return site.outcome(work.eliminations), metering.found


class _Metering:
    """What is to be metered, and the readings that came."""

    def __init__(self, wiring: Wiring, planned: Iterable[Target]) -> None:
        self._names, self._plan = merged(wiring), wiring.plan
        self._locks = {
            device.id: [f"{device.id}.{t.name}" for t in device.part.terminals[:2]]
            for device in wiring.plan.devices.values()
            if any(isinstance(rule, Bolt) for rule in device.part.rules)
        }
        self._blacks: dict[tuple[int, str], _Blacks] = {}
        self.found: dict[str, dict[Case, Metered]] = {}
        self.todo: list[Target] = []
        known: dict[str, tuple[Situation, ...]] = {}
        for target in planned:
            if target.case in METERED_CASES:
                mine = known.setdefault(target.door, fitter_situations(target.inputs))
                self.todo.append(replace(target, situations=mine))
                self.found[target.door] = {}

    def take(self, ran: Ran) -> None:
        """Keep what a meter shows of one target."""
        target = ran.target
        feeds = self._feeds(target)
        key = id(target.network), feeds
        black = self._blacks.get(key)
        if black is None:
            black = self._blacks[key] = _Blacks(target, self._plan, feeds)
        self.found[target.door][target.case] = _read(ran, self._names, self._locks, black)

    def _feeds(self, target: Target) -> str:
        """Which of several supplies of one circuit feeds the door's lock: that to which the least
        copper leads from its plus, every contact closed; "" where there is but one."""
        here = {e.device for e in target.things.elements if isinstance(e.what, Source)}
        supplies = [supply for name, supply in self._plan.supplies.items() if name in here]
        its = self._plan.doors[target.door].devices.values()
        pluses = (at[0] for name, at in self._locks.items() if name in its)
        plus = self._names.get(next(pluses, ""))
        if len(supplies) < 2 or plus is None:
            return ""
        ohms = ohms_from(target.things, plus)
        outputs = (
            (s.id, self._names.get(f"{s.id}.{name}")) for s in supplies for name in s.outputs
        )
        reached = [(ohms[node], n, s) for n, (s, node) in enumerate(outputs) if node in ohms]
        return min(reached)[2] if reached else ""


class _Blacks:
    """Where the black lead goes for each node: the minus of a source that the node is tied to, by
    conductors first, else by anything that may ever conduct.

    Supplies whose 0 V are joined are one circuit: there it is that of what ``feeds`` the door, and
    of a supply's screw its own, as another's may be in another room.
    """

    def __init__(self, target: Target, plan: Plan, feeds: str) -> None:
        shape, network = target.network.shape, target.network
        compiled = compile_shape(shape)
        sources = {
            network.nodes[e.b]: f"{e.device}.{ends(e.what)[1]}"
            for e in reversed(target.things.elements)
            if isinstance(e.what, Source)
        }
        fixed, any_ = Union(), Union()
        for n, (a, b, _) in enumerate(shape.linear):
            any_.join(str(a), str(b))
            if compiled.always[n] and n < len(target.things.conductors):
                fixed.join(str(a), str(b))
        for a, b, _ in shape.rails:
            any_.join(str(a), str(b))
        for _, a, b, _, _ in shape.devices:
            any_.join(str(a), str(b))
        near = {fixed.find(str(node)): node for node in reversed(sources)}
        far = {any_.find(str(node)): node for node in reversed(sources)}
        self._own = {
            e.device: (network.nodes[e.b], f"{e.device}.{ends(e.what)[1]}")
            for e in reversed(target.things.elements)
            if isinstance(e.what, Source) and e.device in plan.supplies
        }
        if feeds:
            node, called = self._own[feeds]
            near[fixed.find(str(node))] = far[any_.find(str(node))] = node
            sources[node] = called
        self.nodes = tuple(sources)
        self._at: list[tuple[int, str]] = []
        for node in range(shape.nodes):
            tied = near.get(fixed.find(str(node)), far.get(any_.find(str(node)), 0))
            self._at.append((tied, sources.get(tied, network.reference)))

    def of(self, name: str, node: int) -> tuple[int, str]:
        """For a terminal at a node the node of the black lead, and the terminal that is on."""
        return self._own.get(name.rpartition(".")[0], self._at[node])


def _read(
    ran: Ran, names: Mapping[str, str], locks: Mapping[str, Sequence[str]], black: _Blacks
) -> Metered:
    target = ran.target
    network, shape = target.network, target.network.shape
    compiled = compile_shape(shape)
    held = np.array([s.event is Event.NOBODY for s in target.situations])
    flags = np.where(held, ran.held.flags, ran.begins.flags)
    volts = np.where(held, ran.held.volts, ran.begins.volts)
    at = {n: network.nodes[node] for n, node in names.items() if node in network.nodes}
    blacks = {name: black.of(name, node) for name, node in at.items()}
    reds = np.fromiter(at.values(), np.intp)
    across = volts[reds] - volts[[node for node, _ in blacks.values()]]
    across = np.nan_to_num(across, nan=0.0, posinf=0.0, neginf=0.0)
    seen = _seen_ohm(compiled, target, flags, black)
    shown = across / (1.0 + seen[:, reds, reds].T / METER_OHM)
    alternating = any(isinstance(e.what, Source) and e.what.alternating
                      for e in target.things.elements)  # fmt: skip
    if alternating:
        shown = np.abs(shown)
    at_locks = {}
    for lock, (plus, minus) in locks.items():
        if plus in at and minus in at:
            # A lead on each: its two ends may belong to supplies that share no minus.
            a, b = at[plus], at[minus]
            ohm = seen[:, a, a] + seen[:, b, b] - 2.0 * seen[:, a, b]
            at_locks[lock] = np.abs(np.nan_to_num(volts[a] - volts[b])) / (1.0 + ohm / METER_OHM)
    return Metered(
        target.door,
        target.case,
        target.situations,
        dict(zip(at, shown, strict=True)),
        {name: called for name, (_, called) in blacks.items()},
        at_locks,
        _amps(ran, compiled, flags, volts, held),
        alternating,
        bool(np.where(held, ran.held.solved, ran.begins.solved).all()),
    )


def _seen_ohm(compiled: Compiled, target: Target, flags: np.ndarray, black: _Blacks) -> Array:
    """Ohms that a meter sees, situations x nodes x nodes: between a node and its black lead on the
    diagonal; between two nodes, both of theirs less twice the one that they share."""
    shape, values = compiled.shape, target.values
    columns = flags.shape[1]
    siemens = np.zeros((columns, shape.nodes, shape.nodes))
    pairs = [(a, b) for a, b, _ in (*shape.linear, *shape.rails)]
    for (a, b), row in zip(pairs, conductance_rows(compiled, values, flags), strict=True):
        if row is not None:
            _tie(siemens, a, b, np.ravel(row))
    rows = device_rows(compiled, values, flags)
    for (_, plus, minus, _, _), device in zip(shape.devices, rows, strict=True):
        if isinstance(device, SourceRow):
            _tie(siemens, plus, minus, np.ravel(device.on / device.ohm))
        elif isinstance(device, LoadRow):
            # Any figure far above a meter's: electronics lets a meter's microamp through.
            _tie(siemens, plus, minus, np.ravel(device.on) * 1e-3)
        # A diode at rest passes less than a meter takes, and a curve stands beside its supply.
    at = np.arange(shape.nodes)
    siemens[:, at, at] += FLOATS_S
    for node in black.nodes:
        siemens[:, node, node] += HELD_S
    return np.asarray(np.linalg.inv(siemens), dtype=np.float64)


def _tie(siemens: Array, a: int, b: int, row: Array) -> None:
    siemens[:, a, a] += row
    siemens[:, b, b] += row
    siemens[:, a, b] -= row
    siemens[:, b, a] -= row


def _amps(
    ran: Ran, compiled: Compiled, flags: np.ndarray, volts: Array, held: np.ndarray
) -> dict[str, Array]:
    """Amperes of coils, loads and sources by their names, over the situations."""
    target = ran.target
    network, values = target.network, target.values
    what = {e.name: e.what for e in target.things.elements}
    found: dict[str, Array] = {}
    rows = conductance_rows(compiled, values, flags)
    for n, name in enumerate(network.linear):
        element = what.get(name)
        if isinstance(element, Resistor) and _is_coil(element):
            a, b, _ = network.shape.linear[n]
            row = rows[n]
            found[name] = np.zeros(len(held)) if row is None else (volts[a] - volts[b]) * row
    given = np.where(held, ran.held_a, ran.begins_a)
    for name, amps in zip(network.devices, given, strict=True):
        if isinstance(what.get(name), Load | Source):
            found[name] = amps
    return found


def _is_coil(element: Resistor) -> bool:
    """On alternating current a coil counts as a load of its impedance."""
    return element.role is ResistorRole.COIL or element.impedance_ohm is not None
