"""The situations of a target as flag numbers and columns: the same for like doors."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Network
from latchwork.behaviour.situations import ALONE, DoorInputs, Event, Inputs, Mode, Power, Situation

CURVE_MODES = (Mode.NORMAL, Mode.FIRE_ALARM, Mode.PANEL_LOST)
"""Site modes in which what a supply's other doors draw is known."""

Pairs = tuple[tuple[int, bool], ...]
"""Input flags by number, and what they are set to."""


@dataclass(frozen=True, slots=True)
class Script:
    """``idle``: what is set in healthy idle. ``before`` and ``then``: for each stage (power and
    mode) what holds before, and then; ``modes``: the other doors' mode likewise. ``columns``: for
    each situation its stage, the event's inputs (None: nobody) and whether logic is frozen."""

    idle: Pairs
    before: tuple[Pairs, ...]
    then: tuple[Pairs, ...]
    modes: tuple[tuple[int, int], ...]
    columns: tuple[tuple[int, Pairs | None, bool], ...]


def script(network: Network, inputs: DoorInputs, situations: Sequence[Situation]) -> Script:
    """The script of ``situations`` for one door in its network."""
    stages: dict[tuple[Power, Mode, str], int] = {}
    powers: dict[tuple[Power, str], Inputs] = {}
    modes: dict[Mode, Inputs] = {}
    events: dict[tuple[Event, str], Pairs | None] = {}
    columns = []
    for s in situations:
        lost, doing = (s.which, "") if s.power is Power.ONE_LOST else ("", s.which)
        if (s.power, lost) not in powers:
            powers[s.power, lost] = inputs.power(s.power, lost)
        if s.mode not in modes:
            modes[s.mode] = inputs.mode(s.mode)
        if (s.event, doing) not in events:
            nobody = s.event is Event.NOBODY
            events[s.event, doing] = (
                None if nobody else _numbers(network, inputs.event(s.event, doing))
            )
        stage = stages.setdefault((s.power, s.mode, lost), len(stages))
        columns.append((stage, events[s.event, doing], s.event in ALONE))
    shut = {name: True for name in network.flags if name.endswith(":latch_out")}
    return Script(
        _numbers(network, shut),
        tuple(_numbers(network, inputs.before(p, m)) for p, m, _ in stages),
        tuple(_numbers(network, {**powers[p, lost], **modes[m]}) for p, m, lost in stages),
        tuple((_others_before(m), _others_then(m)) for _, m, _ in stages),
        tuple(columns),
    )


def _numbers(network: Network, inputs: Inputs) -> Pairs:
    found = [
        (network.flags[name], value) for name, value in inputs.items() if name in network.inputs
    ]
    return tuple(sorted(found))


def _others_before(mode: Mode) -> int:
    return CURVE_MODES.index(Mode.FIRE_ALARM if mode is Mode.FIRE_RESET else Mode.NORMAL)


def _others_then(mode: Mode) -> int:
    return CURVE_MODES.index(mode) if mode in CURVE_MODES else 0


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
