"""What a meter shows at a door without a fault, at nominal figures and at the worst cases."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from latchwork.behaviour import Case, Event, Mode, new_work
from latchwork.faults.engine import solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.model import Fault, Reading
from latchwork.faults.prepare import Prepared, groups_of, prepare_groups
from latchwork.faults.sections import Section, sections, shared_out, wiring_of
from latchwork.faults.spread import Cores, Over, Tell
from latchwork.wiring import Wiring

BAND = (Case.NOMINAL, Case.LEAST_VOLTS, Case.MOST_VOLTS)
Band = tuple[float, float]
"""The least and the most volts."""


@dataclass(frozen=True, slots=True)
class _Lot:
    """Readings at the doors of some sections."""

    sections: tuple[Section, ...]
    wanted: tuple[tuple[str, Reading], ...]


def bands(
    wiring: Wiring,
    wanted: Sequence[tuple[str, Reading]],
    progress: Tell | None = None,
    over: Over | None = None,
) -> list[Band]:
    """The least and most volts that each reading (of a door) has without a fault."""
    some = sections(wiring, {each for door, r in wanted for each in (door, _home(wiring, door, r))})
    found: dict[int, Band] = {}
    with over or Cores() as way:
        lots, whose = [], []
        for chosen in shared_out(some, way.lots(sum(len(s.doors) for s in some))):
            doors = {door for n in chosen for door in some[n].door_ids}
            mine = [n for n, (door, _) in enumerate(wanted) if door in doors]
            lots.append(_Lot(tuple(some[n] for n in chosen), tuple(wanted[n] for n in mine)))
            whose.append(mine)

        def take(n: int, came: list[Band]) -> None:
            found.update(zip(whose[n], came, strict=True))

        way.run(_bands, lots, take, progress)
    return [found[n] for n in range(len(wanted))]


def _bands(lot: _Lot, tell: Tell) -> list[Band]:
    wiring = wiring_of(lot.sections)
    by_door: dict[str, list[int]] = defaultdict(list)
    for n, (door, _) in enumerate(lot.wanted):
        by_door[door].append(n)
    homes = [_home(wiring, door, reading) for door, reading in lot.wanted]
    parts = groups_of(wiring, {*by_door, *homes})
    found: list[list[float]] = [[] for _ in lot.wanted]
    for done, case in enumerate(BAND):
        tell("bands", done, len(BAND))
        cells = list(prepare_groups(wiring, parts, case, _none))
        away = _away(lot, cells, homes)
        at = {door: [n for n in some if n not in away] for door, some in by_door.items()}
        for n, home in away.items():
            at.setdefault(home, []).append(n)
        for item in cells:
            for d, door in enumerate(item.cell.doors):
                if not at.get(door):
                    continue
                run = solve_edits([item.cell], [0], [()], item.cell.scripts[d], new_work())
                looks = Looks(run)
                keys = [s.key for s in item.cell.situations[d]]
                for n in at[door]:
                    reading = lot.wanted[n][1]
                    nodes = item.cell.network.nodes
                    # A screw of the supply that another cell hangs on has the supply's volts.
                    plus, minus = item.hub
                    ends = nodes.get(reading.terminal, plus), nodes.get(reading.against, minus)
                    shown = looks.metered(item.facts[d], *ends)
                    column = _column(keys, reading.situation, n in away)
                    late = reading.held or n in away
                    found[n].append(float(shown[0, column, int(late)]))
    return [(min(volts), max(volts)) for volts in found]


def _home(wiring: Wiring, door: str, reading: Reading) -> str:
    """The door at which the screw of a reading is: a fault may be felt at ``door`` through their
    supply alone."""
    at = reading.terminal.partition(".")[0]
    return at if at in wiring.plan.doors else door


def _away(lot: _Lot, cells: Sequence[Prepared], homes: Sequence[str]) -> dict[int, str]:
    """The readings at a screw that the circuit of their door has not, with the door that has."""
    nodes = {door: item.cell.network.nodes for item in cells for door in item.cell.doors}
    return {
        n: home
        for n, ((door, reading), home) in enumerate(zip(lot.wanted, homes, strict=True))
        if home != door and reading.terminal not in nodes[door]
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


def _none(_: Fault) -> bool:
    """No fault is asked for."""
    return False
