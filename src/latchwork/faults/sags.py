"""How far faults pull their supply down, and how far it may sag before a door does otherwise:
whether what is wrong in one cell is tried at the doors of its supply's other cells.

Between cells nothing goes but the supply's volts. At a door each coil and input has volts to spare;
while the supply sags by less than that, and what is taken elsewhere leaves it short of its limit,
the door does what it did.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.positions import watched_volts
from latchwork.behaviour.shape import SOURCE
from latchwork.behaviour.situations import Event, Mode, Power
from latchwork.behaviour.state import PICKED
from latchwork.faults.door_facts import Cases
from latchwork.faults.looks import MOMENTS, Looks
from latchwork.faults.prepare import Prepared

Stage = tuple[Power, Mode]
Sags = Mapping[Stage, float]
"""Volts by what is on and in which mode."""
FALLS_FASTER = 2.0
"""So many times as fast as its supply's the volts of a coil or input fall at most: past the drop of
half of them along copper a load of constant power stands nowhere."""
LEAST_V = 1e-4
"""A supply that sags by less is taken for one that does not: some milliamperes behind its ohms."""
ON_MAINS = (Power.MAINS, Power.RETURNS)
SURELY_PICKS, SURELY_HOLDS = 1, 2
"""Among the four thresholds of a bolt."""


def sags(
    cases: Cases, volts: NDArray[np.float64], sound: NDArray[np.float64]
) -> Iterator[tuple[int, Sags]]:
    """Which members pull the supply down, and by how much in each stage, given the ``volts`` of
    theirs and those of the ``sound`` door (situations x moments). While something happens at
    another door, nobody does anything at this one."""
    lower = (sound - volts)[:, cases.nobody].max(axis=2)
    stages = [(cases.situations[n].power, cases.situations[n].mode) for n in cases.nobody]
    for m in np.flatnonzero((lower > LEAST_V).any(axis=1)).tolist():
        its = zip(stages, lower[m].tolist(), strict=True)
        yield m, {stage: volts for stage, volts in its if volts > LEAST_V}


def deeper(one: Sags, other: Sags) -> Sags:
    """The deeper of two in each stage."""
    return {stage: max(v, other.get(stage, v)) for stage, v in {**other, **one}.items()}


def added(one: Sags, other: Sags) -> Sags:
    """Both at once."""
    return {stage: v + other.get(stage, 0.0) for stage, v in {**other, **one}.items()}


def matters(sag: Sags, spare: Sags | None) -> bool:
    """Whether a door with so much to ``spare`` (None: nobody knows) may feel a supply that sags
    so."""
    return spare is None or any(volts > spare.get(stage, np.inf) for stage, volts in sag.items())


def slack(item: Prepared, cases: Cases, looks: Looks, members: Sequence[int]) -> list[Sags]:
    """By how much the supply may sag before anything of each of these members does otherwise."""
    each = np.array(members, dtype=np.intp)
    spare = np.minimum(*(_spare(item, cases, looks, each, held=held) for held in MOMENTS))
    stages = {stage: list(chain(*events.values())) for stage, events in cases.stages.items()}
    least = {stage: spare[:, columns].min(axis=1) for stage, columns in stages.items()}
    return [{stage: float(volts[m]) for stage, volts in least.items()} for m in range(len(each))]


def _spare(
    item: Prepared, cases: Cases, looks: Looks, members: NDArray[np.intp], *, held: bool
) -> NDArray[np.float64]:
    """Volts to spare: members x situations."""
    count, situations, solved = len(members), cases.situations, looks.solved
    whose = np.repeat(members, len(situations))
    those = np.tile(np.arange(len(situations)), count)
    volts, bonds, flags, bolts = (
        solved.at(name, whose, those, held=held) for name in ("volts", "bonds", "flags", "bolts")
    )
    shape, values = looks.run.compiled.shape, item.cell.values
    across = watched_volts(looks.run.compiled, volts, bonds)
    either_way = [s.either_way for s in (*shape.senses, *shape.bolts)]
    across[either_way] = np.abs(across[either_way])
    on = np.concatenate([flags[[s.flag for s in shape.senses]], bolts == PICKED])
    on = on.reshape(len(on), count, len(situations))
    picks = np.concatenate([values.sense_on_v, values.bolt_v[SURELY_PICKS::4]])[..., np.newaxis]
    holds = np.concatenate([values.sense_off_v, values.bolt_v[SURELY_HOLDS::4]])[..., np.newaxis]
    powers = [s.power for s in situations]
    usual = cases.stages[Power.MAINS, Mode.NORMAL][Event.NOBODY]
    stays = on[..., usual] & np.array([power is not Power.RETURNS for power in powers])
    spare = (across.reshape(on.shape) - np.where(stays, holds, picks)) / FALLS_FASTER
    found: NDArray[np.float64] = np.where(on, spare, np.inf).min(axis=0, initial=np.inf)
    plus, minus = item.hub
    hub = (volts[plus] - volts[minus]).reshape(found.shape)
    mains = np.array([power in ON_MAINS for power in powers])
    limited = np.where(mains, hub - _knee_v(item), np.inf)
    return np.maximum(np.minimum(found, limited), 0.0)


def _knee_v(item: Prepared) -> float:
    """Volts at which the supply reaches its limit on mains."""
    network, values = item.cell.network, item.cell.values
    kinds = zip(network.devices, network.shape.devices, strict=True)
    sources = [name for name, (kind, *_) in kinds if kind == SOURCE]
    knees = (values.source_volt - values.source_ohm * values.source_limit_a)[:, 0].tolist()
    its = zip(sources, knees, strict=True)
    return max((v for name, v in its if name.rpartition(".")[0] in item.supplies), default=-np.inf)
