"""What one sees of a door with a meter and at its locks, at nominal figures and at the worst cases:
without a fault, and with each that should tell by it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour import Case, Event, LockState, Mode, new_work
from latchwork.faults.engine import solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.prepare import Prepared, groups_of, prepare_groups
from latchwork.faults.reasons import CLEAR_V
from latchwork.faults.sections import Section, sections, shared_out, wiring_of
from latchwork.faults.spread import Cores, Over, Tell, side_by_side, threads
from latchwork.wiring import Wiring

CASES = (Case.NOMINAL, Case.LEAST_VOLTS, Case.MOST_VOLTS)
SURE = (LockState.LOCKED, LockState.UNLOCKED, LockState.CHATTER)


@dataclass(frozen=True, slots=True)
class Sight:
    """Where and when one looks at a door: at a ``lock`` ("": at none), and with a meter on
    ``terminal`` and ``against``. ``faults``: those that should tell by it."""

    door: str
    situation: str
    held: bool
    lock: str
    terminal: str
    against: str
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """What one sees without a fault, nominal, least and most; and which faults the lock tells in
    all of the cases, and which the meter. ``here``: those that were run; of what only the supply
    carries to the door nothing is said."""

    volt_v: float
    low_v: float
    high_v: float
    by_lock: frozenset[str]
    by_meter: frozenset[str]
    here: frozenset[str]

    def tells(self, faulty_v: float) -> bool:
        """Whether nominal volts with a fault lie clearly outside what a meter may show without."""
        return not self.low_v - CLEAR_V <= faulty_v <= self.high_v + CLEAR_V


@dataclass(frozen=True, slots=True)
class _Lot:
    """Sights of the doors of some sections. ``alone``: no other lot is run beside it."""

    sections: tuple[Section, ...]
    wanted: tuple[Sight, ...]
    alone: bool


@dataclass(frozen=True, slots=True)
class _Row:
    """A sight in one case: volts and state without a fault, and with each that is there."""

    volts: float
    state: LockState | None
    faulty: dict[str, tuple[float, LockState | None]]


def sights(
    wiring: Wiring,
    wanted: Sequence[Sight],
    progress: Tell | None = None,
    over: Over | None = None,
) -> list[Seen]:
    """What comes of each sight."""
    some = sections(wiring, {each for s in wanted for each in (s.door, _home(wiring, s))})
    found: dict[int, Seen] = {}
    with over or Cores() as way:
        lots, whose = [], []
        shares = shared_out(some, way.lots(sum(len(s.doors) for s in some)))
        for chosen in shares:
            doors = {door for n in chosen for door in some[n].door_ids}
            mine = [n for n, sight in enumerate(wanted) if sight.door in doors]
            its = tuple(some[n] for n in chosen), tuple(wanted[n] for n in mine)
            lots.append(_Lot(*its, alone=len(shares) == 1))
            whose.append(mine)

        def take(n: int, came: list[Seen]) -> None:
            found.update(zip(whose[n], came, strict=True))

        way.run(_seen, lots, take, progress)
    return [found[n] for n in range(len(wanted))]


def _seen(lot: _Lot, tell: Tell) -> list[Seen]:
    wiring = wiring_of(lot.sections)
    by_door: dict[str, list[int]] = defaultdict(list)
    for n, sight in enumerate(lot.wanted):
        by_door[sight.door].append(n)
    homes = [_home(wiring, sight) for sight in lot.wanted]
    parts = groups_of(wiring, {*by_door, *homes})
    named = {name for sight in lot.wanted for name in sight.faults}
    found: list[list[_Row]] = [[] for _ in lot.wanted]
    for done, case in enumerate(CASES):
        tell("bands", done, len(CASES))
        cells = list(prepare_groups(wiring, parts, case, lambda fault: fault.id in named))
        away = _away(lot, cells, homes)
        at = {door: [n for n in some if n not in away] for door, some in by_door.items()}
        for n, home in away.items():
            at.setdefault(home, []).append(n)
        doors = [(p, d, door) for p in cells for d, door in enumerate(p.cell.doors) if at.get(door)]
        todo = [(item, d, [lot.wanted[n] for n in at[door]]) for item, d, door in doors]
        each = side_by_side(lambda its: _Door(*its), todo, threads(lot.alone))
        for (_, _, door), its in zip(doors, each, strict=True):
            for n in at[door]:
                found[n].append(its.row(lot.wanted[n], n in away))
    return [_told(sight, rows) for sight, rows in zip(lot.wanted, found, strict=True)]


class _Door:
    """A door solved without a fault and with each that is asked for and in its circuit."""

    def __init__(self, item: Prepared, d: int, asked: Sequence[Sight]) -> None:
        self._item, self._facts = item, item.facts[d]
        names = {name for sight in asked for name in sight.faults}
        faults = [fault for fault in item.cell.faults if fault.id in names]
        self._members = {fault.id: n for n, fault in enumerate(faults, start=1)}
        edits = [(), *(fault.edits for fault in faults)]
        cells = [0] * len(edits)
        run = solve_edits([item.cell], cells, edits, item.cell.scripts[d], new_work())
        self._looks = Looks(run)
        self._keys = [s.key for s in item.cell.situations[d]]

    def row(self, sight: Sight, away: bool) -> _Row:
        """What one sees; ``away``: of another door's screw."""
        item, facts = self._item, self._facts
        column, moment = _column(self._keys, sight.situation, away), int(sight.held or away)
        nodes = item.cell.network.nodes
        # A screw of the supply that another cell hangs on has the supply's volts.
        plus, minus = item.hub
        ends = nodes.get(sight.terminal, plus), nodes.get(sight.against, minus)
        # What hangs in the air a meter shows as nothing.
        volts = np.nan_to_num(self._looks.metered(facts, *ends)[:, column, moment])
        states: list[LockState | None] = [None] * len(volts)
        if sight.lock in facts.locks:
            its = self._looks.states(facts)[facts.locks.index(sight.lock), :, column, moment]
            states = [LockState(state) for state in its.tolist()]
        members = {} if away else self._members
        faulty = {f: (float(volts[n]), states[n]) for f, n in members.items() if f in sight.faults}
        return _Row(float(volts[0]), states[0], faulty)


def _told(sight: Sight, rows: Sequence[_Row]) -> Seen:
    """What the cases together tell of a sight."""
    volts = [row.volts for row in rows]
    low, high = min(volts), max(volts)
    here = frozenset.intersection(*(frozenset(row.faulty) for row in rows))
    by_lock, by_meter = set(), set()
    state = rows[0].state
    steady = state in SURE and all(row.state is state for row in rows)
    for name in here:
        shown, states = zip(*(row.faulty[name] for row in rows), strict=True)
        if steady and all(its in SURE and its is not state for its in states):
            by_lock.add(name)
        clear = not low - CLEAR_V <= shown[0] <= high + CLEAR_V
        if sight.terminal and clear and (max(shown) < low or min(shown) > high):
            by_meter.add(name)
    return Seen(volts[0], low, high, frozenset(by_lock), frozenset(by_meter), here)


def _home(wiring: Wiring, sight: Sight) -> str:
    """The door at which the screw of a sight is: a fault may be felt at its door through their
    supply alone."""
    at = sight.terminal.partition(".")[0]
    return at if at in wiring.plan.doors else sight.door


def _away(lot: _Lot, cells: Sequence[Prepared], homes: Sequence[str]) -> dict[int, str]:
    """The sights of a screw that the circuit of their door has not, with the door that has."""
    nodes = {door: item.cell.network.nodes for item in cells for door in item.cell.doors}
    return {
        n: home
        for n, (sight, home) in enumerate(zip(lot.wanted, homes, strict=True))
        if home != sight.door and sight.terminal not in nodes[sight.door]
    }


def _column(keys: Sequence[str], situation: str, away: bool) -> int:
    """Where a door has a situation; of another door's (``away``) what is done there changes nothing
    at this one, which may not know its mode either."""
    if not away:
        return keys.index(situation)
    power, mode, _ = situation.split("/", 2)
    usual = f"{power}/{Mode.NORMAL}/{Event.NOBODY}"
    idle = f"{power}/{mode}/{Event.NOBODY}"
    return keys.index(idle if idle in keys else usual)
