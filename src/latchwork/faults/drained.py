"""Supplies that give less than their doors take with nobody about: mains on, the battery goes flat.

The fault run takes a battery for fresh while the mains are on, which it is not there for long.
"""

from __future__ import annotations

from collections.abc import Iterable

from latchwork.behaviour import Event, Mode, Power, new_work
from latchwork.behaviour.script import script
from latchwork.behaviour.situations import DoorInputs, Situation
from latchwork.faults.engine import solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.prepare import Prepared
from latchwork.parts import BATTERY_FUSE
from latchwork.plan import Plan

AT_REST = Situation(Power.MAINS, Mode.NORMAL, Event.NOBODY)


def drained(plan: Plan, cells: Iterable[Prepared]) -> tuple[str, ...]:
    """The supplies whose battery gives current, mains on and nobody about, in the order of the
    job. Any one cell of a supply has what all of its doors take."""
    by_supply = {s: item for item in cells for s in item.supplies if _fuse(s) in _fuses(item)}
    return tuple(s for s in plan.supplies if s in by_supply and _gives(plan, by_supply[s], s))


def _fuse(supply: str) -> str:
    return f"{supply}.{BATTERY_FUSE}"


def _fuses(item: Prepared) -> Iterable[str]:
    return item.cell.names.rows["ohm"]


def _gives(plan: Plan, item: Prepared, supply: str) -> bool:
    """Whether current comes through the battery's fuse: more than its own charger takes."""
    cell = item.cell
    inputs = DoorInputs(plan, cell.doors[0], item.supplies)
    its = script(cell.network, inputs, (AT_REST,))
    looks = Looks(solve_edits([cell], [0], [()], its, new_work()))
    nodes = cell.network.nodes
    drop = looks.volts(nodes[f"{supply}._cell"], nodes[f"{supply}._batt"])[0, 0, 1]
    ohm = cell.values.ohm[cell.names.rows["ohm"][_fuse(supply)], 0]
    trickle = plan.devices[supply].part.figures.get("trickle_a")
    return bool(drop > ohm * (trickle.high if trickle else 0.0))
