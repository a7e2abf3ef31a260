"""Of the service plan, what is about supplies: which a door hangs on, and how far down a battery is
near its end."""

from __future__ import annotations

from collections.abc import Collection
from math import isclose

from latchwork.parts.kinds.battery import CELL_V
from latchwork.wiring import Wiring
from latchwork.wiring.kit import own_supplies
from latchwork.wiring.union import Union
from latchwork.words import say


def supplies_of(wiring: Wiring, door: str) -> tuple[str, ...]:
    """The supplies that a door is said to hang on, its devices with one of their own too; where
    nothing is said, the site's only one."""
    plan = wiring.plan
    written = plan.doors[door].door
    heads = {name.partition(".")[0] for name in (written.supply, *own_supplies(plan, written))}
    return tuple(s for s in plan.supplies if s in heads or len(plan.supplies) == 1)


def near_end(wiring: Wiring, door: str) -> str:
    """At how many volts the batteries of a door's supplies are at their end, and by what: the
    supply's cut-off where that is higher, else what a cell may be discharged to."""
    told = []
    devices = wiring.plan.devices
    supplies = supplies_of(wiring, door)
    for supply in (*supplies, *_batteries(wiring, supplies)):
        figures = devices[supply].part.figures
        blocks = wiring.plan.battery_blocks(supply)
        if not blocks or "battery_end_v" not in figures:
            continue
        end_v, cell_v = figures["battery_end_v"].value, figures["cell_end_v"].value
        cells = blocks * figures["battery_block_v"].value / CELL_V
        by_cell = isclose(end_v, cells * cell_v)
        words: dict[str, float | str] = {"supply": supply, "end_v": end_v, "cell_v": cell_v}
        told.append(say(f"service.near end.{'cell' if by_cell else 'cut-off'}", words))
    return ", ".join(told)


def _batteries(wiring: Wiring, supplies: Collection[str]) -> list[str]:
    """Batteries that are parts of their own, and wired to an output of one of the supplies."""
    batteries = [e for e, device in wiring.plan.devices.items() if device.part.kind == "battery"]
    if not batteries:
        return []
    copper = Union()
    ends = [(core.start, core.end) for core in wiring.conductors]
    ends += [(lead.start, lead.end) for lead in wiring.leads]
    for start, end in ends:
        copper.join(start, end)
    devices = wiring.plan.devices
    outputs = {
        copper.find(f"{supply}.{terminal.name}")
        for supply in supplies
        for terminal in devices[supply].part.terminals
        if terminal.does == "output_plus"
    }
    return [each for each in batteries if copper.find(f"{each}.+") in outputs]
