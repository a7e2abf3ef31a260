"""How a consequence came about, and where a meter tells a fault that nobody notices."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Network
from latchwork.behaviour.outcomes import LockState
from latchwork.behaviour.situations import Event
from latchwork.circuit import APART, LOOSE
from latchwork.faults.consequences import Bools
from latchwork.faults.door_facts import Cases, DoorFacts
from latchwork.faults.looks import MOMENTS, Looks, Moment
from latchwork.faults.model import Reading, Why

WELL = 0.5
"""A difference of so much of the greatest tells as well."""
CLEAR_V = 0.5
"""A smaller difference is lost among lengths and temperatures (common practice, no source)."""

AT_A_TIME = 32
"""So many members are looked at side by side: of large circuits more would not be worth their room.
"""

NAMES = {int(state): state.name.lower() for state in LockState}


@dataclass(frozen=True, slots=True)
class Named:
    """What reasons name of a door: its locks, contacts by their place among what flags switch,
    devices by the flag that says that they have power."""

    locks: tuple[str, ...]
    contacts: Mapping[int, str]
    powered: Mapping[int, str]


def named(
    looks: Looks, network: Network, contacts: Container[str], locks: tuple[str, ...]
) -> Named:
    """The names of a door that was solved; ``contacts``: which names are contacts' and fuses'."""
    gates = ((n, network.linear[branch]) for n, (branch, _) in enumerate(looks.run.compiled.gates))
    return Named(
        locks,
        {n: name for n, name in gates if name in contacts},
        {
            n: name.rpartition(".")[0]
            for name, n in network.flags.items()
            if name.endswith(".powered")
        },
    )


Place = tuple[int, int, int]
"""A member, its situation, and the moment."""


def whys(
    looks: Looks,
    facts: DoorFacts,
    doors: Sequence[Named],
    whose: Sequence[int],
    before: Moment,
    at: Sequence[Place],
    leaving: Bools | None = None,
) -> list[Why]:
    """How it came about, for each of ``at``: against what was ``before``, at doors that are alike;
    ``whose``: which of them each is; ``leaving``: where it is people's way out that is gone, which
    a lock that the lever frees does not bar."""
    if not at:
        return []
    now = looks.at(facts, *np.array(at, dtype=np.intp).T)
    count = len(at)
    moved: list[list[tuple[str, bool]]] = [[] for _ in at]
    for n, (_, gate) in enumerate(looks.run.compiled.gates):
        old = np.broadcast_to(gate(before.flags), count)
        new = np.broadcast_to(gate(now.flags), count)
        for k in np.flatnonzero(old != new).tolist():
            name = doors[whose[k]].contacts.get(n)
            if name is not None:
                moved[k].append((name, bool(new[k])))
    lost: list[list[str]] = [[] for _ in at]
    for n, k in np.argwhere(before.flags & ~now.flags).tolist():
        device = doors[whose[k]].powered.get(n)
        if device is not None:
            lost[k].append(device)
    otherwise = (before.states != now.states).astype(int)
    if leaving is not None:
        bars = np.array(facts.ways) & ~(facts.mechanical & np.array(facts.lever_frees))
        otherwise += otherwise * np.outer(bars, leaving)
    locks = np.argmax(otherwise, axis=0)
    places = np.arange(count)
    rows = zip(
        locks.tolist(),
        before.volts[locks, places].tolist(),
        now.volts[locks, places].tolist(),
        before.states[locks, places].tolist(),
        now.states[locks, places].tolist(),
        strict=True,
    )
    out = []
    for k, (lock, was_v, now_v, was, state) in enumerate(rows):
        its = doors[whose[k]].locks[lock]
        others = (m for m in moved[k] if not m[0].startswith(f"{its}."))
        late = bool(at[k][2])
        restless = bool(looks.chatters[at[k][0], at[k][1]])
        names = NAMES[was], NAMES[state]
        out.append(Why(its, late, was_v, now_v, *names, tuple(others), tuple(lost[k]), restless))
    return out


def readings(
    looks: Looks,
    network: Network,
    facts: DoorFacts,
    cases: Cases,
    sound: int,
    members: Sequence[int],
    allowed: Bools,
    elsewhere: Container[str],
    meter: tuple[int, int],
) -> list[Reading | None]:
    """For each member the terminal and the first situation (of those ``allowed``, members x
    situations) in which its volts differ clearly from the ``sound`` member's: across a lock where
    that tells well, as both probes reach it there, then from a lock to the supply's minus, else
    where it tells best; on a battery near its end only where nothing else does. While a release is
    operated, the volts across a lock tell neither of its poles.

    A meter shows nothing between what hangs on two supplies that no wire joins: ``elsewhere``,
    where the reference is not, it goes across a lock or nowhere. Else it goes to the minus of
    ``meter``, and from a lock's minus to its plus too: with both cores of the lock broken it shows
    nothing, with a pole that is welded all of the supply's volts.
    """
    if not members:
        return []
    minus, plus = meter
    names = {n: name for name, n in network.nodes.items() if _is_screw(name)}
    here = {n for n, name in names.items() if name not in elsewhere}
    across = [n for n, (a, b) in enumerate(facts.nodes) if a in names and b in names]
    pluses = [a for a, _ in (facts.nodes[n] for n in across) if a in here]
    others = sorted(here - set(pluses))
    backs = [n for n, (_, b) in enumerate(facts.nodes) if {b, plus} <= here and plus != b]
    ends = [*(facts.nodes[n] for n in across), *((n, minus) for n in (*pluses, *others))]
    ends += [(facts.nodes[n][1], plus) for n in backs]
    red, black = np.array(ends, dtype=np.intp).reshape(-1, 2).T
    rows = [facts.bolts[n] for n in (*across, *backs)]

    def shown(some: Sequence[int]) -> NDArray[np.float64]:
        volts = _table(looks, cases, some, "volts")
        its: NDArray[np.float64] = volts[red] - volts[black]
        bonds = _table(looks, cases, some, "bonds")[len(looks.run.compiled.shape.senses) :][rows]
        front, back = its[: len(across)], its[len(ends) - len(backs) :]
        front[:] = np.where(bonds[: len(across)] & APART, 0.0, front)
        # Of a lock with an open coil nothing says which of its ends hangs in the air.
        hangs = bonds[len(across) :]
        back[:] = np.where(hangs & LOOSE, 0.0, np.where(hangs & APART, np.nan, back))
        return its

    released = [n for n, s in enumerate(cases.situations) if s.event is Event.RELEASE]
    blind = [n for n, k in enumerate(across) if facts.nodes[k][0] in here]
    before = shown([sound])
    out: list[Reading | None] = []
    for first in range(0, len(members), AT_A_TIME):
        some = slice(first, first + AT_A_TIME)
        now = shown(members[some])
        apart = np.nan_to_num(np.abs(now - before)) * allowed[some]
        apart[np.ix_(blind, range(apart.shape[1]), released)] = 0.0
        soon = apart * cases.soon
        clear = soon.max(axis=(0, 2)) >= CLEAR_V
        apart = np.where(clear[:, np.newaxis], soon, apart)
        most = apart.max(axis=(0, 2))
        well = apart >= most[:, np.newaxis] * WELL
        nodes = well.any(axis=2).argmax(axis=0)
        columns = well[nodes, np.arange(len(nodes))].argmax(axis=1)
        found = zip(nodes.tolist(), columns.tolist(), (most >= CLEAR_V).tolist(), strict=True)
        for m, (node, column, tells) in enumerate(found):
            if not tells:
                out.append(None)
                continue
            out.append(
                Reading(
                    cases.keys[column],
                    cases.situations[column].event is Event.NOBODY,
                    names[int(red[node])],
                    names.get(int(black[node]), network.reference),
                    float(before[node, 0, column]),
                    float(now[node, m, column]),
                )
            )
    return out


def _is_screw(node: str) -> bool:
    """Whether a meter can be put there: not within a cable or a part."""
    return not set(node) & set("@~#") and not node.rpartition(".")[2].startswith("_")


def _table(looks: Looks, cases: Cases, members: Sequence[int], name: str) -> NDArray[Any]:
    """Rows x members x situations: held where nobody does anything, else as it begins."""
    count = len(cases.situations)
    rows, every = np.repeat(members, count), np.tile(np.arange(count), len(members))
    begins, held = (looks.solved.at(name, rows, every, held=late) for late in MOMENTS)
    table = np.where(cases.idle[every], held, begins)
    return table.reshape(len(table), len(members), count)
