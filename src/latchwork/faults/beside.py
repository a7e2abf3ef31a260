"""Curves of the cells of few supplies, remembered: after an edit most cells are what they were."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import replace
from threading import Lock

from latchwork.behaviour import Case, new_work
from latchwork.behaviour.cases import Climate
from latchwork.behaviour.curves import CellCurve, cell_curves, supply_limit, supply_volt
from latchwork.behaviour.network import Things
from latchwork.behaviour.place import Cells
from latchwork.elements import Figure

MOST = 64
"""So many cells are remembered. Runs of more are whole sites, which are seldom run again."""
Doors = tuple[str, ...]
Asked = tuple[Things, str, str, float, Figure | None, Climate]
"""All that a curve hangs on: the cell, where it hangs on its supply, that one's volts and limit,
and how warm it is."""

_remembered: OrderedDict[tuple[Case, Doors], tuple[Asked, CellCurve]] = OrderedDict()
_lock = Lock()


def curves(
    parts: Sequence[Cells], case: Case, climate: Climate
) -> dict[tuple[int, Doors], CellCurve]:
    """The curve of each cell of ``parts``, by its part's place among them and its doors."""
    asked: dict[tuple[int, Doors], Asked] = {}
    for n, part in enumerate(parts):
        gives = supply_volt(part.hub), supply_limit(part.hub)
        for cell in part.cells:
            asked[n, cell.doors] = cell.things, part.plus, part.minus, *gives, climate
    with _lock:
        found = {
            (n, doors): curve
            for (n, doors), its in asked.items()
            for was, curve in [_remembered.get((case, doors), (None, None))]
            if curve is not None and was == its
        }
    fresh = [
        replace(part, cells=tuple(c for c in part.cells if (n, c.doors) not in found))
        for n, part in enumerate(parts)
    ]
    for (n, _, doors), curve in cell_curves(fresh, (case,), climate, new_work()).items():
        found[n, doors] = curve
    if len(asked) <= MOST:
        with _lock:
            for (n, doors), its in asked.items():
                _remembered[case, doors] = its, found[n, doors]
                _remembered.move_to_end((case, doors))
            while len(_remembered) > MOST:
                _remembered.popitem(last=False)
    return found
