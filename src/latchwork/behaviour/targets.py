"""From a site's wiring to what is to be run: each door with its cell, its supply and a curve."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case, Climate
from latchwork.behaviour.network import (
    Curve,
    Network,
    PlacedElement,
    Things,
    network,
    values,
)
from latchwork.behaviour.place import Cells, Group, cells, together
from latchwork.behaviour.run import Target
from latchwork.behaviour.script import CURVE_MODES
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import Values, compile_shape, stacked
from latchwork.behaviour.situations import (
    LONG_S,
    DoorInputs,
    Event,
    Mode,
    Power,
    Situation,
)
from latchwork.behaviour.state import Batch, dead, with_inputs
from latchwork.behaviour.timing import step
from latchwork.circuit import Work
from latchwork.elements import TRUE, Figure, Source, SourceShape
from latchwork.wiring import Wiring

PROBE_OHM = 1e-3
CURVE_POINTS = 24


def every_situation(inputs: DoorInputs) -> tuple[Situation, ...]:
    """Power x mode x event for one door; an exit request with all frozen on mains, in normal only."""
    return tuple(
        Situation(power, mode, event, lost or which)
        for power, lost in inputs.powers()
        for mode in Mode
        for event, which in inputs.events()
        if not (lost and which)
        and (event is not Event.EXIT_ALONE or (power, mode) == (Power.MAINS, Mode.NORMAL))
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


def _grid(plus_volt: float) -> tuple[float, ...]:
    """Volts at which a curve is taken: close where supplies live, and down to nothing."""
    low = np.linspace(0.0, 0.6, 5)
    live = np.linspace(0.65, 1.1, CURVE_POINTS - 5)
    return tuple(float(v) for v in np.concatenate([low, live]) * plus_volt)


def supply_volt(hub: Things) -> float:
    """The highest volts of a hub's sources."""
    return max(e.what.volt.value for e in hub.elements if isinstance(e.what, Source))


Drawn = Mapping[Mode, NDArray[np.float64]]
"""What a cell draws at each volt of the grid, by site mode, everybody idle."""


def cell_curves(
    parts: Sequence[Cells], cases: Sequence[Case], climate: Climate, work: Work | None = None
) -> dict[tuple[int, Case, tuple[str, ...]], Drawn]:
    """What each cell of ``parts`` draws, by the part's number, the case and the cell's doors."""
    alike: dict[object, list[tuple[tuple[int, Case, tuple[str, ...]], Network, Values]]]
    alike = defaultdict(list)
    for n, part in enumerate(parts):
        volt = supply_volt(part.hub)
        probe = _probe(part, volt)
        for cell in part.cells:
            thing = together((Things((probe,), (), (), part.minus), cell.things), part.minus)
            built = network(thing)
            for case in cases:
                numbers = values(thing, case, climate)
                alike[built.shape, volt].append(((n, case, cell.doors), built, numbers))
    out: dict[tuple[int, Case, tuple[str, ...]], Drawn] = {}
    for (_, volt), members in alike.items():  # type: ignore[misc]  # keys are (shape, volt)
        drawn = _curves_alike([m[1] for m in members], [m[2] for m in members], float(volt), work)
        out |= {m[0]: curves for m, curves in zip(members, drawn, strict=True)}
    return out


def _probe(part: Cells, volt: float) -> PlacedElement:
    figure = Figure(volt, volt, volt)
    inner = Figure(PROBE_OHM, PROBE_OHM, PROBE_OHM)
    source = Source("probe", "+", "-", figure, inner, None, SourceShape.BREAKS_DOWN)
    return PlacedElement("probe", part.plus, part.minus, source, "", "probe", TRUE)


def _curves_alike(
    networks: Sequence[Network], numbers: Sequence[Values], volt: float, work: Work | None
) -> list[dict[Mode, NDArray[np.float64]]]:
    compiled = compile_shape(networks[0].shape)
    count, modes = len(networks), len(CURVE_MODES)
    grid = np.array(_grid(volt))
    member = np.arange(count)
    flags = networks[0].flags
    state = dead(compiled, count)
    state = with_inputs(state, {n: True for name, n in flags.items() if ":latch_out" in name})
    state, _ = step(Batch(compiled, stacked(numbers, member), count), state, LONG_S, work)
    member = np.repeat(member, modes)
    state = state.take(member)
    for flag, mode in (("site:fire_alarm", Mode.FIRE_ALARM), ("site:panel_lost", Mode.PANEL_LOST)):
        if flag in flags:
            there = np.tile(np.array([m is mode for m in CURVE_MODES]), count)
            state = with_inputs(state, {flags[flag]: there})
    batch = Batch(compiled, stacked(numbers, member), count * modes)
    state, _ = step(batch, state, LONG_S, work)
    points = len(grid)
    at = np.repeat(np.arange(count * modes), points)
    many = stacked(numbers, member[at])
    volts = np.tile(grid, count * modes)
    many = replace(many, source_volt=volts.reshape(1, -1), source_low_volt=volts.reshape(1, -1))
    _, point = settle(Batch(compiled, many, len(at)), state.take(at), work)
    plus = compiled.shape.devices[0][1]
    amps = ((volts - point.volts[plus]) / PROBE_OHM).reshape(count, modes, points)
    amps = np.where(grid > 0.0, np.maximum(amps, 0.0), 0.0)
    return [{mode: amps[n, m] for m, mode in enumerate(CURVE_MODES)} for n in range(count)]


def targets(
    wiring: Wiring,
    groups: Iterable[Group],
    climate: Climate,
    cases: Sequence[Case] = (Case.NOMINAL,),
    work: Work | None = None,
) -> list[Target]:
    """Every door of ``groups`` in every one of ``cases``."""
    whole: list[tuple[Group, Group]] = []
    split: list[tuple[Group, Cells]] = []
    for group in groups:
        part = cells(group)
        if part is None:
            whole.append((group, group))
        else:
            split.append((group, part))
    out: list[Target] = []
    for group, _ in whole:
        out += _cell_targets(wiring, group, group, group.things, cases, climate, {})
    curves = cell_curves([p for _, p in split], cases, climate, work)
    for n, (group, part) in enumerate(split):
        total = {
            case: {m: sum(curves[n, case, c.doors][m] for c in part.cells) for m in CURVE_MODES}
            for case in cases
        }
        for cell in part.cells:
            others = {
                case: {
                    m: np.maximum(total[case][m] - curves[n, case, cell.doors][m], 0.0)
                    for m in CURVE_MODES
                }
                for case in cases
            }
            thing = together((part.hub, cell.things), part.minus)
            nothing = tuple(0.0 for _ in range(CURVE_POINTS))
            curve = Curve(part.plus, part.minus, _grid(supply_volt(part.hub)), nothing)
            thing = replace(thing, curve=curve)
            out += _cell_targets(wiring, group, cell, thing, cases, climate, others)
    return out


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
