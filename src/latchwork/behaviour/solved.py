"""What was solved of members side by side: columns of stages and events, looked at by situation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.positions import device_rows
from latchwork.behaviour.script import Pairs, Script
from latchwork.behaviour.state import Batch, Point
from latchwork.circuit import device_current


class Layout:
    """Columns of the members, one run of columns a member, as long as its script says."""

    def __init__(self, lengths: Sequence[int]) -> None:
        self.lengths = lengths
        self.starts = np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.intp)
        self.member = np.repeat(np.arange(len(lengths)), lengths)


def events_of(its: Script, frozen: bool) -> tuple[tuple[int, Pairs], ...]:
    """The different events of a script that are ``frozen`` or not: stage and inputs."""
    found = [(s, event) for s, event, still in its.columns if event is not None and still is frozen]
    return tuple(dict.fromkeys(found))


@dataclass(frozen=True, slots=True)
class Places:
    """Which situations show events, and which of a member's solved columns each of them is."""

    situations: NDArray[np.intp]
    columns: NDArray[np.intp]

    @classmethod
    def of(cls, its: Script, frozen: bool) -> Places:
        """The places of a script's events that are ``frozen`` or not."""
        number = {key: n for n, key in enumerate(events_of(its, frozen))}
        found = [
            (n, number[stage, event])
            for n, (stage, event, still) in enumerate(its.columns)
            if event is not None and still is frozen
        ]
        return cls(*np.array(found, dtype=np.intp).reshape(-1, 2).T)


@dataclass(frozen=True)
class Part:
    """Solved columns. ``at``: for events where each member's are; () for the stages."""

    layout: Layout
    at: tuple[Places, ...]
    begins: Point
    held: Point
    first: Batch
    then: Batch
    """The batches as it begins and is held."""

    @cached_property
    def begins_a(self) -> NDArray[np.float64]:
        """Amperes of each device branch as it begins."""
        return _amps(self.first, self.begins)

    @cached_property
    def held_a(self) -> NDArray[np.float64]:
        """Amperes of each device branch, held."""
        return _amps(self.then, self.held)


_POINT_ROWS = (
    "volts",
    "flags",
    "bolts",
    "sense_low_v",
    "sense_high_v",
    "flips",
    "chatter",
    "solved",
    "bonds",
)


@dataclass(frozen=True, slots=True)
class Solved:
    """Every member's stages and events."""

    scripts: tuple[Script, ...]
    parts: tuple[Part, ...]

    def member(self, m: int) -> tuple[Point, Point, NDArray[np.float64], NDArray[np.float64]]:
        """A member's points as events begin and held, and device amperes, by situation."""
        stages = self.parts[0]
        at = stages.layout.starts[m] + np.array([s for s, _, _ in self.scripts[m].columns])
        begins, held = _pick(stages.begins, at), _pick(stages.held, at)
        begins_a, held_a = stages.begins_a[:, at], stages.held_a[:, at]
        for part in self.parts[1:]:
            to = part.at[m].situations
            own = part.layout.starts[m] + part.at[m].columns
            for name in _POINT_ROWS:
                getattr(begins, name)[..., to] = getattr(part.begins, name)[..., own]
                getattr(held, name)[..., to] = getattr(part.held, name)[..., own]
            begins_a[:, to] = part.begins_a[:, own]
            held_a[:, to] = part.held_a[:, own]
        return begins, held, begins_a, held_a

    def all_solved(self) -> NDArray[np.bool_]:
        """Members x situations: whether both moments came to rest."""
        done: NDArray[np.bool_] = self._rows("solved", None, held=False)
        done &= self._rows("solved", None, held=True)
        return done

    def any_chatter(self) -> NDArray[np.bool_]:
        """Members x situations: whether one of the moments chatters."""
        either: NDArray[np.bool_] = self._rows("chatter", None, held=False)
        either |= self._rows("chatter", None, held=True)
        return either

    def rows(self, name: str, row: int, *, held: bool) -> NDArray[Any]:
        """One row of the points, members x situations; all members have one script."""
        return self._rows(name, row, held=held)

    def at(
        self, name: str, members: NDArray[np.intp], situations: NDArray[np.intp], *, held: bool
    ) -> NDArray[Any]:
        """All rows of the points of some members, each in its situation; all have one script."""
        point = "held" if held else "begins"
        stages = np.array([s for s, _, _ in self.scripts[0].columns], dtype=np.intp)
        first = self.parts[0]
        table = getattr(getattr(first, point), name)
        out: NDArray[Any] = table[..., first.layout.starts[members] + stages[situations]]
        for part in self.parts[1:]:
            place = np.full(len(stages), -1, dtype=np.intp)
            place[part.at[0].situations] = part.at[0].columns
            own = place[situations] >= 0
            table = getattr(getattr(part, point), name)
            columns = part.layout.starts[members[own]] + place[situations[own]]
            out[..., own] = table[..., columns]
        return out

    def _rows(self, name: str, row: int | None, *, held: bool) -> NDArray[Any]:
        point = "held" if held else "begins"

        def of(part: Part) -> NDArray[Any]:
            table = getattr(getattr(part, point), name)
            line: NDArray[Any] = table if row is None else table[row]
            return line.reshape(len(self.scripts), -1)

        out = of(self.parts[0])[:, [s for s, _, _ in self.scripts[0].columns]]
        for part in self.parts[1:]:
            out[:, part.at[0].situations] = of(part)[:, part.at[0].columns]
        return out


def _pick(point: Point, at: NDArray[np.intp]) -> Point:
    rows = {name: getattr(point, name)[..., at] for name in _POINT_ROWS}
    return Point(**rows, start=point.start)


def _amps(batch: Batch, point: Point) -> NDArray[np.float64]:
    """Amperes of each device branch at a point."""
    rows = device_rows(batch.compiled, batch.values, point.flags)
    amps = np.empty((len(rows), batch.columns))
    for n, row in enumerate(rows):
        amps[n] = device_current(row, point.start.volts[n], point.start.regions[n])
    return amps
