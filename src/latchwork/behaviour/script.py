"""The situations of a target as flag numbers and columns: the same for like doors."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Network
from latchwork.behaviour.situations import ALONE, DoorInputs, Event, Inputs, Mode, Power, Situation


class First(StrEnum):
    """A first moment, in which all doors move at once and coils take their pick-up current."""

    POWER = "power returns"
    POWER_ALARM = "power returns in a fire alarm"
    POWER_PANEL_LOST = "power returns with the fire panel lost"
    RESET = "fire reset"


SETTLED = (Mode.NORMAL, Mode.FIRE_ALARM, Mode.PANEL_LOST)
STARTS = {
    Mode.FIRE_ALARM: First.POWER_ALARM,
    Mode.PANEL_LOST: First.POWER_PANEL_LOST,
}
"""As power returns in these modes; in all others as ``First.POWER``."""
CURVE_MODES: tuple[Mode | First, ...] = (*SETTLED, *First)
"""When what a supply's other doors draw is known: site modes, and first moments."""

ALONE_THERE = (0, 0, 0)
"""What the other doors are in where there are none."""

Pairs = tuple[tuple[int, bool], ...]
"""Input flags by number, and what they are set to."""


@dataclass(frozen=True, slots=True)
class Script:
    """``idle``: what is set in healthy idle. ``before`` and ``then``: for each stage (power and
    mode) what holds before, and then; ``modes``: what the other doors are in before, at first,
    and then, as numbers of ``CURVE_MODES``. ``columns``: for each situation its stage, the
    event's inputs (None: nobody) and whether logic is frozen.

    Modes that set nothing of the network are one stage, such as a fire alarm without a contact.
    """

    idle: Pairs
    before: tuple[Pairs, ...]
    then: tuple[Pairs, ...]
    modes: tuple[tuple[int, int, int], ...]
    columns: tuple[tuple[int, Pairs | None, bool], ...]

    @property
    def distinct(self) -> int:
        """How many of the situations the network tells apart."""
        return len(set(self.columns))


def script(network: Network, inputs: DoorInputs, situations: Sequence[Situation]) -> Script:
    """The script of ``situations`` for one door in its network."""
    stages: dict[tuple[Pairs, Pairs, tuple[int, int, int]], int] = {}
    named: dict[tuple[Power, Mode, str], int] = {}
    powers: dict[tuple[Power, str], Inputs] = {}
    modes: dict[Mode, Inputs] = {}
    events: dict[tuple[Event, str], Pairs | None] = {}
    columns = []
    for s in situations:
        lost, doing = s.lost, s.which
        if (s.power, lost) not in powers:
            powers[s.power, lost] = inputs.power(s.power, lost)
        if s.mode not in modes:
            modes[s.mode] = inputs.mode(s.mode)
        if (s.event, doing) not in events:
            nobody = s.event is Event.NOBODY
            events[s.event, doing] = (
                None if nobody else _numbers(network, inputs.event(s.event, doing))
            )
        asked = (s.power, s.mode, lost)
        if asked not in named:
            its = (
                _numbers(network, inputs.before(s.power, s.mode)),
                _numbers(network, {**powers[s.power, lost], **modes[s.mode]}),
                _others(s.power, s.mode) if "curve" in network.devices else ALONE_THERE,
            )
            named[asked] = stages.setdefault(its, len(stages))
        stage = named[asked]
        columns.append((stage, events[s.event, doing], s.event in ALONE))
    shut = {name: True for name in network.flags if name.endswith(":latch_out")}
    return Script(
        _numbers(network, shut),
        tuple(before for before, _, _ in stages),
        tuple(then for _, then, _ in stages),
        tuple(others for _, _, others in stages),
        tuple(columns),
    )


def _numbers(network: Network, inputs: Inputs) -> Pairs:
    found = [
        (network.flags[name], value) for name, value in inputs.items() if name in network.inputs
    ]
    return tuple(sorted(found))


def _others(power: Power, mode: Mode) -> tuple[int, int, int]:
    """What the other doors are in: before, at first, and then."""
    before = Mode.FIRE_ALARM if mode is Mode.FIRE_RESET else Mode.NORMAL
    then = mode if mode in SETTLED else Mode.NORMAL
    first: Mode | First = then
    if power is Power.RETURNS:
        first = STARTS.get(mode, First.POWER)
    elif mode is Mode.FIRE_RESET:
        first = First.RESET
    return CURVE_MODES.index(before), CURVE_MODES.index(first), CURVE_MODES.index(then)


@dataclass(frozen=True, slots=True)
class Settings:
    """Inputs to set over a run of columns: flag number, columns from its start, values."""

    rows: tuple[tuple[int, NDArray[np.intp], NDArray[np.bool_]], ...]

    def set(self, flags: NDArray[np.bool_], starts: NDArray[np.intp]) -> None:
        """Set the flags in the runs of columns that begin at ``starts``."""
        for flag, offsets, values in self.rows:
            at = (starts[:, np.newaxis] + offsets).ravel()
            flags[flag, at] = np.tile(values, len(starts))


def settings(lists: Sequence[Pairs]) -> Settings:
    """The inputs of consecutive columns, gathered by flag."""
    rows: dict[int, list[tuple[int, bool]]] = defaultdict(list)
    for column, pairs in enumerate(lists):
        for flag, value in pairs:
            rows[flag].append((column, value))
    return Settings(
        tuple(
            (
                flag,
                np.array([column for column, _ in row], dtype=np.intp),
                np.array([value for _, value in row]),
            )
            for flag, row in rows.items()
        )
    )
