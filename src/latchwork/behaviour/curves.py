"""A healthy cell seen from its supply: one curve of amperes over volts, everybody idle.

Settled in each site mode, and in the first moments in which all doors move at once.

The same run tells at which volts of the supply each lock is no longer surely held and each
device loses its power.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case, Climate
from latchwork.behaviour.network import Network, PlacedElement, Things, network, values
from latchwork.behaviour.place import Cells, together
from latchwork.behaviour.positions import watched_volts
from latchwork.behaviour.script import CURVE_MODES, First
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import Array, Compiled, Values, compile_shape, stacked
from latchwork.behaviour.situations import LONG_S, Mode
from latchwork.behaviour.state import PICKED, Batch, Point, State, dead, with_inputs
from latchwork.behaviour.timing import put, step
from latchwork.circuit import Work
from latchwork.elements import TRUE, Figure, Source

PROBE_OHM = 1e-3
PAST_LIMIT = 1.05
"""Of what its supply can give, a cell is offered so much: more than that blows no fuse and starts
nothing there, and as much still pulls the supply down. Any share a little over 1 does."""
LOW = (0.0, 0.025, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6)
"""Shares of the supply's volts where it has broken down: closest where a magnet lets go, at about a
tenth (common practice, no source), and below, where a short pulls it and diodes are bent."""
LIVE_POINTS, HIGH_POINTS = 19, 3
CURVE_POINTS = len(LOW) + LIVE_POINTS + HIGH_POINTS


@dataclass(frozen=True, slots=True)
class CellCurve:
    """One cell in one case. ``amps`` for each of ``CURVE_MODES`` at each of ``volts``.

    ``lets_go_v``: supply volts below which a lock that was energised is no longer surely held;
    ``dies_v``: below which a device that was powered no longer is. Only what changes within the
    curve is named.
    """

    doors: tuple[str, ...]
    case: Case
    volts: Array
    amps: Mapping[Mode | First, Array]
    lets_go_v: Mapping[str, float]
    dies_v: Mapping[str, float]


def grid(plus_volt: float) -> tuple[float, ...]:
    """Volts at which a curve is taken: close where supplies live, up to those of a regulator that
    has failed, and down to nothing."""
    low = np.array(LOW)
    live = np.linspace(0.65, 1.1, LIVE_POINTS)
    high = np.linspace(1.15, 1.25, HIGH_POINTS)
    return tuple(float(v) for v in np.concatenate([low, live, high]) * plus_volt)


def supply_volt(hub: Things) -> float:
    """The highest volts of a hub's sources."""
    return max(e.what.volt.value for e in hub.elements if isinstance(e.what, Source))


def supply_limit(hub: Things) -> Figure | None:
    """What a hub's sources give at most; None where one of them, as a battery, has no limit."""
    limits = [e.what.limit_a for e in hub.elements if isinstance(e.what, Source)]
    known = [limit for limit in limits if limit is not None]
    if len(known) < len(limits):
        return None
    return Figure(
        PAST_LIMIT * sum(limit.value for limit in known),
        PAST_LIMIT * sum(limit.low for limit in known),
        PAST_LIMIT * sum(limit.high for limit in known),
    )


Key = tuple[int, Case, tuple[str, ...]]
"""Which of the parts, in which case, the cell of which doors."""


def cell_curves(
    parts: Sequence[Cells], cases: Sequence[Case], climate: Climate, work: Work | None = None
) -> dict[Key, CellCurve]:
    """The curve of each cell of ``parts`` in each case; like cells are run side by side."""
    alike: dict[object, list[tuple[Key, Network, Values, float]]] = defaultdict(list)
    for n, part in enumerate(parts):
        volt = supply_volt(part.hub)
        probe = _probe(part, volt)
        for cell in part.cells:
            thing = together((Things((probe,), (), (), part.minus), cell.things), part.minus)
            built = network(thing)
            for case in cases:
                member = (n, case, cell.doors), built, values(thing, case, climate), volt
                alike[built.shape, volt].append(member)
    out: dict[Key, CellCurve] = {}
    for members in alike.values():
        out |= _curves_alike(members, work)
    return out


def _probe(part: Cells, volt: float) -> PlacedElement:
    figure = Figure(volt, volt, volt)
    inner = Figure(PROBE_OHM, PROBE_OHM, PROBE_OHM)
    source = Source("probe", "+", "-", figure, inner, supply_limit(part.hub))
    return PlacedElement("probe", part.plus, part.minus, source, "", "probe", TRUE)


ALARM = ("site:fire_alarm", (Mode.FIRE_ALARM, First.POWER_ALARM, First.RESET))
LOST = ("site:panel_lost", (Mode.PANEL_LOST, First.POWER_PANEL_LOST))
"""Site inputs, and when they are set."""
AFRESH = (First.POWER, First.POWER_ALARM, First.POWER_PANEL_LOST)


def _told(mode: Mode | First, net: Network) -> Mode | First:
    """The mode whose curve stands for ``mode`` too: nothing tells them apart without a fire
    contact."""
    if any(name in net.flags for name, _ in (ALARM, LOST)):
        return mode
    return First.POWER if mode in AFRESH else Mode.NORMAL


def _curves_alike(
    members: Sequence[tuple[Key, Network, Values, float]], work: Work | None
) -> dict[Key, CellCurve]:
    net = members[0][1]
    compiled = compile_shape(net.shape)
    numbers = [m[2] for m in members]
    told = tuple(dict.fromkeys(_told(mode, net) for mode in CURVE_MODES))
    count, modes = len(members), len(told)
    volts = np.array(grid(members[0][3]))
    state = _starting(net, compiled, numbers, told, work)
    points = len(volts)
    at = np.repeat(np.arange(count * modes), points)
    each = np.tile(volts, count * modes).reshape(1, -1)
    many = _fed(stacked(numbers, np.repeat(np.arange(count), modes)[at]), each)
    _, point = settle(Batch.of(compiled, many, len(at)), state.take(at), work)
    plus = compiled.shape.devices[0][1]
    amps = (each[0] - point.volts[plus]) / PROBE_OHM
    amps = np.minimum(amps, many.source_limit_a[0]).reshape(count, modes, points)
    amps = np.where(volts > 0.0, np.maximum(amps, 0.0), 0.0)
    out = {}
    for n, (key, its, value, _) in enumerate(members):
        own = slice(n * modes * points, n * modes * points + points)
        lets_go, dies = _losses(compiled, its, value, point, own, volts)
        by_mode = {mode: amps[n, told.index(_told(mode, net))] for mode in CURVE_MODES}
        out[key] = CellCurve(key[2], key[1], volts, by_mode, lets_go, dies)
    return out


def _fed(numbers: Values, volts: Array) -> Values:
    """The numbers with the probe at ``volts``."""
    return replace(numbers, source_volt=volts, source_low_volt=volts)


def _starting(
    net: Network,
    compiled: Compiled,
    numbers: Sequence[Values],
    told: Sequence[Mode | First],
    work: Work | None,
) -> State:
    """What each of ``told`` starts from, for each member: settled in that mode; in the dark,
    where power returns; in the alarm that is then reset."""
    count, modes = len(numbers), len(told)
    member = np.arange(count)
    state = dead(compiled, count)
    state = with_inputs(state, {n: True for name, n in net.flags.items() if ":latch_out" in name})
    single = Batch.of(compiled, stacked(numbers, member), count)
    idle, _ = step(single, state, LONG_S, work)
    no_volts = np.zeros((1, count))
    fed = Batch.of(compiled, _fed(single.values, no_volts), count)
    dark, _ = step(fed, idle, LONG_S, work)

    each = np.repeat(member, modes)
    fresh = np.tile(np.array([mode in AFRESH for mode in told]), count)
    state = put(idle.take(each), dark.take(each[fresh]), np.flatnonzero(fresh))
    for name, set_in in (ALARM, LOST):
        if name in net.flags:
            there = np.tile(np.array([mode in set_in for mode in told]), count)
            state = with_inputs(state, {net.flags[name]: there})
    old = np.flatnonzero(~fresh)
    batch = Batch.of(compiled, stacked(numbers, each[old]), len(old))
    after, _ = step(batch, state.take(old), LONG_S, work)
    state = put(state, after, old)
    if First.RESET in told and ALARM[0] in net.flags:
        reset = np.tile(np.array([mode is First.RESET for mode in told]), count)
        alarm = net.flags[ALARM[0]]
        state = with_inputs(state, {alarm: state.flags[alarm] & ~reset})
    return state


def _losses(
    compiled: Compiled, net: Network, value: Values, point: Point, own: slice, volts: Array
) -> tuple[dict[str, float], dict[str, float]]:
    """Supply volts at which locks are let go and devices die, in normal idle."""
    watched = watched_volts(compiled, point.volts[:, own], point.bonds[:, own])
    senses = len(compiled.shape.senses)
    lets_go, dies = {}, {}
    for n, name in enumerate(net.bolts):
        held = point.bolts[n, own] == PICKED
        need = float(value.bolt_v[4 * n + 2, 0])
        found = _loss(volts, np.abs(watched[senses + n]), held, need)
        if found is not None:
            lets_go[name.rsplit(".", 1)[0]] = found
    for n, name in enumerate(net.senses):
        if name.endswith(".powered"):
            on = point.flags[compiled.shape.senses[n].flag, own]
            found = _loss(volts, watched[n], on, float(value.sense_off_v[n, 0]))
            if found is not None:
                dies[name.rsplit(".", 1)[0]] = found
    return lets_go, dies


def _loss(volts: Array, seen: Array, on: NDArray[np.bool_], need: float) -> float | None:
    """Supply volts at which ``seen`` falls through ``need``, by the line through the last two
    points at which it was still ``on``; None where it never was on."""
    last = len(volts) - 1
    if not on[last]:
        return None
    off = np.flatnonzero(~on)
    first = int(off[-1]) + 1 if len(off) else 0
    if first >= last:
        return float(volts[last])
    slope = (seen[first + 1] - seen[first]) / (volts[first + 1] - volts[first])
    if slope <= 0.0:
        return float(volts[first])
    crossing = volts[first] - (seen[first] - need) / slope
    return float(np.clip(crossing, volts[first - 1] if first else 0.0, volts[first]))
