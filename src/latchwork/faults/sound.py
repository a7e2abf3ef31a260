"""What a meter shows at a door without a fault, at nominal figures and at the worst cases."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from latchwork.behaviour import Case, new_work
from latchwork.faults.engine import solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.model import Reading
from latchwork.faults.prepare import prepare
from latchwork.wiring import Wiring

BAND = (Case.NOMINAL, Case.LEAST_VOLTS, Case.MOST_VOLTS)


def bands(wiring: Wiring, wanted: Sequence[tuple[str, Reading]]) -> list[tuple[float, float]]:
    """The least and most volts that each reading (of a door) has without a fault."""
    by_door: dict[str, list[int]] = defaultdict(list)
    for n, (door, _) in enumerate(wanted):
        by_door[door].append(n)
    found: list[list[float]] = [[] for _ in wanted]
    for case in BAND:
        for item in prepare(wiring, by_door, case, lambda _: False):
            for d, door in enumerate(item.cell.doors):
                if door not in by_door:
                    continue
                run = solve_edits([item.cell], [0], [()], item.cell.scripts[d], new_work())
                looks = Looks(run)
                keys = [s.key for s in item.cell.situations[d]]
                for n in by_door[door]:
                    reading = wanted[n][1]
                    ends = (item.cell.network.nodes[reading.terminal], 0)
                    column = keys.index(reading.situation)
                    found[n].append(float(looks.volts(*ends)[0, column, int(reading.held)]))
    return [(min(volts), max(volts)) for volts in found]
