"""How a consequence came about, and where a meter tells a fault that nobody notices."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Network
from latchwork.behaviour.outcomes import LockState
from latchwork.behaviour.situations import Event
from latchwork.faults.consequences import Bools, Cases, DoorFacts
from latchwork.faults.looks import MOMENTS, Looks, SoundDoor
from latchwork.faults.model import Reading, Why

WELL = 0.5
"""A difference of so much of the greatest tells as well."""
CLEAR_V = 0.5
"""A smaller difference is lost among lengths and temperatures (common practice, no source)."""

NAMES = {int(state): state.name.lower() for state in LockState}


def whys(
    looks: Looks,
    network: Network,
    contacts: frozenset[str],
    facts: DoorFacts,
    sound: SoundDoor,
    at: Sequence[tuple[int, int, int]],
) -> list[Why]:
    """How it came about, for each (member, situation, moment)."""
    if not at:
        return []
    members, columns, moments = np.array(at, dtype=np.intp).T
    states, volts = looks.states(facts), looks.lock_volts(facts)
    flags = np.empty((network.shape.flags, len(at)), dtype=bool)
    for late in MOMENTS:
        own = moments == int(late)
        flags[:, own] = looks.solved.at("flags", members[own], columns[own], held=late)
    before = sound.flags[:, columns, moments]
    count = len(at)
    moved: list[list[tuple[str, bool]]] = [[] for _ in at]
    for n, gate in looks.run.compiled.gates:
        name = network.linear[n]
        if name in contacts:
            old = np.broadcast_to(gate(before), count)
            new = np.broadcast_to(gate(flags), count)
            for k in np.flatnonzero(old != new).tolist():
                moved[k].append((name, bool(new[k])))
    lost: list[list[str]] = [[] for _ in at]
    for name, n in network.flags.items():
        if name.endswith(".powered"):
            for k in np.flatnonzero(before[n] & ~flags[n]).tolist():
                lost[k].append(name.rpartition(".")[0])
    out = []
    for k, (m, c, t) in enumerate(at):
        was, now = sound.states[:, 0, c, t], states[:, m, c, t]
        lock = int(np.argmax(was != now))
        out.append(
            Why(
                facts.locks[lock],
                bool(t),
                float(sound.volts[lock, 0, c, t]),
                float(volts[lock, m, c, t]),
                NAMES[was[lock]],
                NAMES[now[lock]],
                tuple(
                    (name, closed)
                    for name, closed in moved[k]
                    if not name.startswith(f"{facts.locks[lock]}.")
                ),
                tuple(lost[k]),
            )
        )
    return out


def readings(
    looks: Looks,
    network: Network,
    facts: DoorFacts,
    cases: Cases,
    sound: int,
    members: Sequence[int],
    allowed: Bools,
) -> list[Reading | None]:
    """For each member the terminal and the first situation (of those ``allowed``, members x
    situations) in which its volts differ clearly from the ``sound`` member's: at a lock where that
    tells well, else where it tells best."""
    if not members:
        return []
    names = {n: name for name, n in network.nodes.items() if not set(name) & set("@~#")}
    locks = [a for a, _ in facts.nodes if a in names]
    nodes = np.array([*locks, *(n for n in sorted(names) if n not in locks)], dtype=np.intp)
    before = _volts(looks, cases, sound)[nodes]
    out: list[Reading | None] = []
    for member, some in zip(members, allowed, strict=True):
        now = _volts(looks, cases, member)[nodes]
        apart = np.abs(now - before) * some
        if apart.max() < CLEAR_V:
            out.append(None)
            continue
        well = apart >= apart.max() * WELL
        node = int(well.any(axis=1).argmax())
        column = int(well[node].argmax())
        situation = cases.situations[column]
        out.append(
            Reading(
                situation.key,
                situation.event is Event.NOBODY,
                names[int(nodes[node])],
                network.reference,
                float(before[node, column]),
                float(now[node, column]),
            )
        )
    return out


def _volts(looks: Looks, cases: Cases, member: int) -> NDArray[np.float64]:
    """Nodes x situations of one member: held where nobody does anything, else as it begins."""
    every = np.arange(len(cases.situations))
    rows = np.full(len(every), member)
    begins, held = (looks.solved.at("volts", rows, every, held=late) for late in MOMENTS)
    nobody = np.array([s.event is Event.NOBODY for s in cases.situations])
    volts: NDArray[np.float64] = np.where(nobody, held, begins)
    return volts
