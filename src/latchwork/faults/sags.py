"""How far faults pull their supply down, and how far it may sag before a door does otherwise:
whether what is wrong in one cell is tried at the doors of its supply's other cells.

Between cells nothing goes but the supply's volts. At a door each coil and input has volts to spare;
while the supply sags by less than that, and what is taken elsewhere leaves it short of its limit,
the door does what it did.
"""

from __future__ import annotations

from collections.abc import Sequence
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

Array = NDArray[np.float64]
Sags = Array
"""Volts; the last axis is ``STAGES``."""
STAGES = (
    *((power, Mode.NORMAL) for power in Power),
    *((Power.MAINS, mode) for mode in Mode if mode is not Mode.NORMAL),
)
"""What is on and in which mode: every situation of a fault run is one of these."""
NOTHING: Sags = np.zeros(len(STAGES))
LEAST_V = 1e-4
"""A supply that sags by less is taken for one that does not: some milliamperes behind its ohms."""
FASTEST = 2.0
"""So many times as fast as its supply's the volts of a coil or input fall at most: where half of
them are lost along copper. A load of constant power is close to standing nowhere there."""
ON_MAINS = (Power.MAINS, Power.RETURNS)
SURELY_PICKS, SURELY_HOLDS = 1, 2
"""Among the four thresholds of a bolt."""


def sags(cases: Cases, volts: Array, sound: Array) -> tuple[list[int], Sags]:
    """Which members pull the supply down, and by how much each (members x stages), given the
    ``volts`` of theirs and those of the ``sound`` door (situations x moments). While something
    happens at another door, nobody does anything at this one."""
    lower = (sound - volts)[:, cases.nobody].max(axis=2)
    some = np.flatnonzero((lower > LEAST_V).any(axis=1))
    found = np.zeros((len(some), len(STAGES)))
    stages = (cases.situations[n] for n in cases.nobody)
    found[:, [STAGES.index((s.power, s.mode)) for s in stages]] = lower[some]
    return some.tolist(), found


def matter(sag: Sags, spare: Sags) -> NDArray[np.bool_]:
    """Which of these sags a door with so much to ``spare`` may feel."""
    return np.asarray((sag > spare).any(axis=-1))


def slack(looks: Looks, cases: Cases, members: Sequence[int], at: Sequence[Prepared]) -> Array:
    """By how much the supply may sag before anything of each of these members does otherwise, each
    a member of its cell: members x stages. Endless where nothing is asked. The cells have one shape
    and one supply's place in it."""
    each = np.array(members, dtype=np.intp)
    knees = np.array([_knee_v(item) for item in at])
    hub = at[0].hub
    volts = [_spare(looks, cases, each, hub, knees, held=held) for held in MOMENTS]
    spare = np.minimum(*volts)
    found = np.full((len(each), len(STAGES)), np.inf)
    for stage, events in cases.stages.items():
        found[:, STAGES.index(stage)] = spare[:, list(chain(*events.values()))].min(axis=1)
    return found


def _spare(
    looks: Looks,
    cases: Cases,
    members: NDArray[np.intp],
    hub: tuple[int, int],
    knees: Array,
    *,
    held: bool,
) -> Array:
    """Volts to spare: members x situations."""
    count, situations, solved = len(members), cases.situations, looks.solved
    whose = np.repeat(members, len(situations))
    those = np.tile(np.arange(len(situations)), count)
    volts, bonds, flags, bolts = (
        solved.at(name, whose, those, held=held) for name in ("volts", "bonds", "flags", "bolts")
    )
    shape, values = looks.run.compiled.shape, looks.run.values
    across = watched_volts(looks.run.compiled, volts, bonds)
    either_way = [s.either_way for s in (*shape.senses, *shape.bolts)]
    across[either_way] = np.abs(across[either_way])
    across = across.reshape(-1, count, len(situations))
    on = np.concatenate([flags[[s.flag for s in shape.senses]], bolts == PICKED])
    on = on.reshape(across.shape)

    def needs(senses: Array, bolts: Array) -> Array:
        """Of each of the members: things x members x one."""
        its = (table if table.shape[1] == 1 else table[:, members] for table in (senses, bolts))
        return np.concatenate([np.broadcast_to(t, (len(t), count)) for t in its])[..., np.newaxis]

    picks = needs(values.sense_on_v, values.bolt_v[SURELY_PICKS::4])
    holds = needs(values.sense_off_v, values.bolt_v[SURELY_HOLDS::4])
    powers = [s.power for s in situations]
    usual = cases.stages[Power.MAINS, Mode.NORMAL][Event.NOBODY]
    stays = on[..., usual] & np.array([power is not Power.RETURNS for power in powers])
    need = np.where(stays, holds, picks)
    supply = (volts[hub[0]] - volts[hub[1]]).reshape(count, len(situations))
    # Of a load of constant power what is lost along copper grows as its volts fall.
    lost = (supply - across) * across / np.maximum(need, LEAST_V) ** 2
    faster = 1.0 / (1.0 - np.clip(lost, 0.0, 1.0 - 1.0 / FASTEST))
    spare = np.where(on, (across - need) / faster, np.inf).min(axis=0, initial=np.inf)
    mains = np.array([power in ON_MAINS for power in powers])
    limited = np.where(mains, supply - knees[:, np.newaxis], np.inf)
    found: Array = np.maximum(np.minimum(spare, limited), 0.0)
    return found


def _knee_v(item: Prepared) -> float:
    """Volts at which the supply reaches its limit on mains."""
    network, values = item.cell.network, item.cell.values
    kinds = zip(network.devices, network.shape.devices, strict=True)
    sources = [name for name, (kind, *_) in kinds if kind == SOURCE]
    knees = (values.source_volt - values.source_ohm * values.source_limit_a)[:, 0].tolist()
    its = zip(sources, knees, strict=True)
    return max((v for name, v in its if name.rpartition(".")[0] in item.supplies), default=-np.inf)
