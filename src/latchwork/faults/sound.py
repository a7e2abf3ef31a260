"""What a meter shows at a door without a fault, at nominal figures and at the worst cases."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from latchwork.behaviour import Case, new_work
from latchwork.faults.engine import solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.model import Fault, Reading
from latchwork.faults.prepare import groups_of, prepare_groups
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
    some = sections(wiring, {door for door, _ in wanted})
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
    parts = groups_of(wiring, by_door)
    found: list[list[float]] = [[] for _ in lot.wanted]
    for done, case in enumerate(BAND):
        tell("bands", done, len(BAND))
        for item in prepare_groups(wiring, parts, case, _none):
            for d, door in enumerate(item.cell.doors):
                if door not in by_door:
                    continue
                run = solve_edits([item.cell], [0], [()], item.cell.scripts[d], new_work())
                looks = Looks(run)
                keys = [s.key for s in item.cell.situations[d]]
                for n in by_door[door]:
                    reading = lot.wanted[n][1]
                    nodes = item.cell.network.nodes
                    # A screw of the supply that another cell hangs on has the supply's volts.
                    plus, minus = item.hub
                    ends = nodes.get(reading.terminal, plus), nodes.get(reading.against, minus)
                    shown = looks.metered(item.facts[d], *ends)
                    column = keys.index(reading.situation)
                    found[n].append(float(shown[0, column, int(reading.held)]))
    return [(min(volts), max(volts)) for volts in found]


def _none(_: Fault) -> bool:
    """No fault is asked for."""
    return False
