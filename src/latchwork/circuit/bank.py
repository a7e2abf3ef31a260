"""The non-linear branches of one topology, those of one kind stacked so that a step of the
iteration takes few operations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.devices import (
    LIMITING,
    REVERSED_V,
    Bools,
    CurveRow,
    DiodeRow,
    LoadRow,
    Region,
    SourceRow,
    curve_current,
    curve_law,
    curve_step,
    diode_law,
    limited_step,
    load_conductance,
    load_law,
    source_law,
    source_region,
)
from latchwork.circuit.eliminate import Row, columns_of, some

Device = SourceRow | LoadRow | DiodeRow | CurveRow
Matrix = NDArray[np.float64]

REST_A = 1e-12
"""A diode rests when the current it is given moves by no more than this: one that is off may be
all that holds a node, whose volts are then known no better than rounding lets them."""

LAW_A = 3e-10
"""A load rests where it draws what was reckoned with, to so much: behind a kilohm, 0.3 µV."""

Kind = TypeVar("Kind", SourceRow, LoadRow, DiodeRow)


@dataclass(frozen=True, slots=True)
class Bank:
    """Branches by kind; rows of all of them stand in the order sources, diodes, loads, curves.

    ``places``: for each row its place among the devices as they were given.
    """

    places: tuple[int, ...]
    sources: SourceRow
    diodes: DiodeRow
    loads: LoadRow
    curves: tuple[CurveRow, ...]
    first_diode: int
    first_load: int
    first_curve: int

    def take(self, chosen: NDArray[np.intp]) -> Bank:
        """The bank of the chosen columns."""
        return replace(
            self,
            sources=_take(self.sources, chosen),
            diodes=_take(self.diodes, chosen),
            loads=_take(self.loads, chosen),
            curves=tuple(
                replace(c, amps=columns_of(c.amps, chosen)) if c.amps.shape[1] > 1 else c
                for c in self.curves
            ),
        )

    def high_v(self) -> Row:
        """The highest volts of any source that is on, by column."""
        if not self.first_diode:
            return np.zeros(1)
        high: Row = np.where(self.sources.on > 0.0, self.sources.volt, 0.0).max(axis=0)
        return high

    def laws(self, volts: Matrix, regions: Region, keen: Bools) -> tuple[Matrix, Matrix]:
        """Conductance and current of every row."""
        d, a, c = self.first_diode, self.first_load, self.first_curve
        siemens, amps = np.empty_like(volts), np.empty_like(volts)
        siemens[:d], amps[:d] = source_law(self.sources, volts[:d], regions, keen)
        if a > d:
            siemens[d:a], amps[d:a] = diode_law(self.diodes, volts[d:a])
        if c > a:
            siemens[a:c], amps[a:c] = load_law(self.loads, volts[a:c], keen)
        for n, row in enumerate(self.curves, start=c):
            siemens[n], amps[n] = curve_law(row, volts[n], keen)
        return siemens, amps

    def strayed(self, fresh: Matrix, volts: Matrix, regions: Region) -> Bools:
        """Columns in which a tangent taken at ``volts`` led out of its stretch of the law."""
        d, a, c = self.first_diode, self.first_load, self.first_curve
        floor = self.loads.floor_v
        fell = self._drawing() & (volts[a:c] > floor) & (fresh[a:c] < floor)
        out: Bools = np.any(fell, axis=0)
        folding = self._folding(regions)
        if some(folding):
            over = (fresh[:d] < 0.0) | (fresh[:d] > self.sources.knee_v)
            out |= (folding & over).any(axis=0)
        return out

    def follow(
        self,
        fresh: Matrix,
        volts: Matrix,
        regions: Region,
        siemens: Matrix,
        amps: Matrix,
        rest_v: Row | float,
    ) -> tuple[Matrix, Region, Bools]:
        """Where the iteration goes from ``volts``, with laws as ``siemens`` and ``amps``, once the
        circuit has answered ``fresh``: the volts of the next step, the regions that these volts
        ask for, and in which columns volts still move by more than ``rest_v`` where that alters
        anything. It alters nothing where a law says at the answer what it was taken to say there,
        and joins its ends there as it did.
        """
        d, a, c = self.first_diode, self.first_load, self.first_curve
        next_regions = source_region(self.sources, fresh[:d], regions)
        if a > d:
            fresh[d:a] = limited_step(self.diodes, fresh[d:a], volts[d:a])
        moving: Bools = np.zeros(fresh.shape[1], dtype=bool)
        for n, row in enumerate(self.curves, start=c):
            goal = fresh[n].copy()
            fresh[n] = curve_step(row, goal, volts[n])
            # Sent down to just below a point and from there up past it, it rests at that point.
            at_point = (fresh[n] < goal) & (fresh[n] - volts[n] <= rest_v)
            going = (np.abs(goal - volts[n]) > rest_v) & ~at_point
            there = going & (fresh[n] == goal) & ((goal > -REVERSED_V) == (volts[n] > -REVERSED_V))
            if some(there):
                there &= ~_off(curve_current(row, goal), siemens[n], amps[n], goal)
            moving |= going & ~there
        moved = np.abs(fresh - volts)
        far = moved > rest_v
        folding = self._folding(next_regions)
        if some(folding):
            moving |= (far[:d] & folding).any(axis=0)
        for n in range(d, a):
            moving |= far[n] & (moved[n] * siemens[n] > REST_A)
        far = far[a:c] & self._drawing()
        if some(far):
            goal = fresh[a:c]
            turned = (goal > REVERSED_V) != (volts[a:c] > REVERSED_V)
            drawn = load_conductance(self.loads, goal) * goal
            off = _off(drawn, siemens[a:c], amps[a:c], goal)
            moving |= (far & (turned | off)).any(axis=0)
        return fresh, next_regions, moving

    def _drawing(self) -> Bools:
        drawing: Bools = self.loads.on > 0.0
        return drawing

    def _folding(self, regions: Region) -> Bools:
        folds: Bools = np.not_equal(self.sources.fold_a, self.sources.limit_a)
        return folds & np.equal(regions, LIMITING)


def _off(drawn: Row, siemens: Row, amps: Row, volts: Row) -> Bools:
    """Where a branch draws otherwise than its law was taken to say."""
    off: Bools = np.abs(drawn - (siemens * volts - amps)) > LAW_A
    return off


def bank(devices: Sequence[Device]) -> Bank:
    """``devices`` by kind."""
    kinds = (SourceRow, DiodeRow, LoadRow, CurveRow)
    by_kind = [[n for n, d in enumerate(devices) if isinstance(d, kind)] for kind in kinds]
    places = tuple(n for group in by_kind for n in group)
    counts = np.cumsum([len(group) for group in by_kind])
    return Bank(
        places,
        _stack(SourceRow, [devices[n] for n in by_kind[0]]),
        _stack(DiodeRow, [devices[n] for n in by_kind[1]]),
        _stack(LoadRow, [devices[n] for n in by_kind[2]]),
        tuple(d for d in devices if isinstance(d, CurveRow)),
        int(counts[0]),
        int(counts[1]),
        int(counts[2]),
    )


def _stack(kind: type[Kind], rows: Sequence[Device]) -> Kind:
    stacked = {}
    for item in fields(kind):
        if not item.init:
            continue
        parts = [np.atleast_1d(getattr(row, item.name)) for row in rows]
        width = max((len(p) for p in parts), default=1)
        whole = np.empty((len(parts), width), dtype=parts[0].dtype if parts else float)
        for n, part in enumerate(parts):
            whole[n] = part
        stacked[item.name] = whole
    return kind(**stacked)


def _take(rows: Kind, chosen: NDArray[np.intp]) -> Kind:
    taken = {item.name: getattr(rows, item.name) for item in fields(rows) if item.init}
    return type(rows)(
        **{k: v.take(chosen, axis=1) if v.shape[1] > 1 else v for k, v in taken.items()}
    )
