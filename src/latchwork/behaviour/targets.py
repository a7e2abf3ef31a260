"""From a site's wiring to what is to be run: each door with its cell, its supply and a curve."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case, Climate
from latchwork.behaviour.curves import CURVE_POINTS, CellCurve, cell_curves, grid, supply_volt
from latchwork.behaviour.network import Curve, Things, network, values
from latchwork.behaviour.place import Cells, Group, cells, together
from latchwork.behaviour.run import Target
from latchwork.behaviour.script import CURVE_MODES, First
from latchwork.behaviour.situations import DoorInputs, Event, Mode, Power, Situation
from latchwork.circuit import Work
from latchwork.wiring import Wiring


def every_situation(inputs: DoorInputs) -> tuple[Situation, ...]:
    """Power x mode x event for one door; an exit request with all frozen only on mains,
    in normal."""
    return tuple(
        Situation(power, mode, event, which, lost)
        for power, lost in inputs.powers()
        for mode in Mode
        for event, which in inputs.events()
        if event is not Event.EXIT_ALONE or (power, mode) == (Power.MAINS, Mode.NORMAL)
    )


WORST_POWERS = (Power.MAINS, Power.BATTERY_END, Power.RETURNS)
"""The powers on which worst cases are looked for."""


def worst_situations(inputs: DoorInputs) -> tuple[Situation, ...]:
    """The situations in which a worst case is looked for: ordinary use, on its powers."""
    return tuple(
        Situation(power, Mode.NORMAL, event, which)
        for power in WORST_POWERS
        for event, which in inputs.events()
        if event in (Event.NOBODY, Event.CREDENTIAL, Event.EXIT)
    )


@dataclass(frozen=True, slots=True)
class Planned:
    """What is to be run: the targets, and by supply the curves of the cells that hang on it (only
    supplies that stand alone in their group have them)."""

    targets: tuple[Target, ...]
    curves: Mapping[str, tuple[CellCurve, ...]]


def targets(
    wiring: Wiring,
    groups: Iterable[Group],
    climate: Climate,
    cases: Sequence[Case] = (Case.NOMINAL,),
    work: Work | None = None,
) -> Planned:
    """Every door of ``groups`` in every one of ``cases``."""
    out: list[Target] = []
    alone: list[tuple[Group, Cells]] = []
    split: list[tuple[Group, Cells]] = []
    for group in groups:
        part = cells(group)
        if part is None:
            out += _cell_targets(wiring, group, group, group.things, cases, climate, {})
        elif len(part.cells) == 1:
            out += _cell_targets(wiring, group, group, group.things, cases, climate, {})
            alone.append((group, part))
        else:
            split.append((group, part))
    curves = cell_curves([p for _, p in split], cases, climate, work)
    single = cell_curves([p for _, p in alone], (Case.NOMINAL,), climate, work)
    for n, (group, part) in enumerate(split):
        for cell in part.cells:
            others = {
                case: {
                    m: sum(
                        (curves[n, case, c.doors].amps[m] for c in part.cells if c is not cell),
                        np.zeros(CURVE_POINTS),
                    )
                    for m in CURVE_MODES
                }
                for case in cases
            }
            thing = together((part.hub, cell.things), part.minus)
            nothing = tuple(0.0 for _ in range(CURVE_POINTS))
            curve = Curve(part.plus, part.minus, grid(supply_volt(part.hub)), nothing)
            thing = replace(thing, curve=curve)
            out += _cell_targets(wiring, group, cell, thing, cases, climate, others)
    by_supply = {
        group.supplies[0]: tuple(found[n, Case.NOMINAL, c.doors] for c in part.cells)
        for parts, found in ((split, curves), (alone, single))
        for n, (group, part) in enumerate(parts)
        if (n, Case.NOMINAL, part.cells[0].doors) in found
    }
    return Planned(tuple(out), by_supply)


Drawn = Mapping[Mode | First, NDArray[np.float64]]
"""What the other doors draw at each volt of the grid, for each of ``CURVE_MODES``."""


def _cell_targets(
    wiring: Wiring,
    group: Group,
    cell: Group,
    thing: Things,
    cases: Sequence[Case],
    climate: Climate,
    others: Mapping[Case, Drawn],
) -> list[Target]:
    built = network(thing)
    numbers = {case: values(thing, case, climate) for case in cases}
    out = []
    for door in cell.doors:
        inputs = DoorInputs(wiring.plan, door, group.supplies)
        every, worst = every_situation(inputs), worst_situations(inputs)
        for case in cases:
            situations = every if case is Case.NOMINAL else worst
            drawn = others.get(case)
            out.append(Target(door, case, built, thing, numbers[case], inputs, situations, drawn))
    return out
