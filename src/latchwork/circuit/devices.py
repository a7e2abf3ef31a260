"""The laws of the non-linear branches, each as a conductance and a current at given volts.

A branch from ``plus`` to ``minus`` with volts V across it injects ``current - conductance * V``
into ``plus`` (and takes it out of ``minus``). Sources go by one region at a time, diodes by the
tangent when conducting. Loads go by the tangent in the columns that are ``keen``, which is
Newton's way and may be a negative conductance, else by the secant I/V, which never is; a source
that folds back likewise.

Rows are over columns; several branches of one kind may be stacked (branches x columns).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.eliminate import Row
from latchwork.circuit.exponential import exponential

DEAD_BAND_V = 1e-6
REVERSED_V = -1e-9
"""A load is reversed below this; rounding stays well above it."""
DEAD_V = 1e-6
"""No more than this is left on a curve that nothing feeds."""
LIMIT_S = 1e-6
"""Conductance of a source at its limit, about the knee: none has an endless one, and it keeps the
node held."""
THERMAL_V = 0.025852
"""kT/q at 300 K."""
HAIR = 1e-9
"""By this part of the secant a tangent is laid lower: one of no slope at all would hide that the
node it draws from is held by nothing else."""
LN_2 = 0.6931471805599453

OFF, GIVING, LIMITING = 0, 1, 2
Region = NDArray[np.int8]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class SourceRow:
    """A source over columns. ``limit_a`` 1e9 or more where there is none; ``fold_a`` the current
    at zero volts (equal to limit_a where it does not fold); ``on`` 0 or 1."""

    volt: Row
    ohm: Row
    limit_a: Row
    fold_a: Row
    on: Row

    @property
    def knee_v(self) -> Row:
        """Volts at which the limit begins; far below zero where there is none."""
        return self.volt - self.ohm * self.limit_a


def source_region(row: SourceRow, volts: Row, region: Region) -> Region:
    """The region one step on from ``region`` at ``volts``."""
    knee = row.knee_v
    past = volts < knee - DEAD_BAND_V
    from_giving = np.where(volts > row.volt + DEAD_BAND_V, OFF, np.where(past, LIMITING, GIVING))
    from_off = volts < row.volt - DEAD_BAND_V  # GIVING is 1, OFF is 0
    from_limiting = np.where(volts > knee + DEAD_BAND_V, GIVING, LIMITING)
    new = np.where(region == GIVING, from_giving, np.where(region == OFF, from_off, from_limiting))
    return np.where(row.on > 0.0, new, OFF).astype(np.int8)


def source_law(
    row: SourceRow, volts: Row, region: Region, keen: Bools | bool = False
) -> tuple[Row, Row]:
    """(conductance, current) of a source in ``region``. Fold-back follows the last volts, or its
    slope where ``keen``."""
    giving = region == GIVING
    limiting = region == LIMITING
    conductance = giving * (1.0 / row.ohm)
    current = giving * (row.volt / row.ohm)
    if limiting.any():
        knee = np.maximum(row.knee_v, 1e-9)
        slope = (row.limit_a - row.fold_a) / knee
        folding = (volts > 0.0) & (volts < knee) & keen
        at_limit = row.fold_a + np.where(folding, 0.0, slope * np.clip(volts, 0.0, knee))
        conductance = conductance + limiting * (LIMIT_S - np.where(folding, slope, 0.0))
        current = np.where(limiting, at_limit + LIMIT_S * knee, current)
    return conductance, current


def source_current(row: SourceRow, volts: Row, region: Region) -> Row:
    """Amperes given at ``volts``."""
    conductance, current = source_law(row, volts, region)
    return current - conductance * volts


@dataclass(frozen=True, slots=True)
class LoadRow:
    """A load over columns: watts (``power``) or amperes, and the volts under which it fades."""

    power: bool | Bools
    amount: Row
    floor_v: Row
    on: Row


def load_conductance(row: LoadRow, volts: Row) -> Row:
    """The secant of the law; nothing when reversed.

    At zero volts it still conducts: a load with one leg cut off rests there, both legs alike.
    """
    above = np.maximum(volts, row.floor_v)
    secant = row.amount * row.on / (above * np.where(row.power, above, 1.0))
    forward: Row = secant * (volts > REVERSED_V)
    return forward


def load_law(row: LoadRow, volts: Row, keen: Bools) -> tuple[Row, Row]:
    """(conductance, current): the tangent where ``keen`` and above the floor, else the secant."""
    secant = load_conductance(row, volts)
    upper = keen & (volts > row.floor_v)
    falls = np.add(row.power, HAIR)
    return (
        np.where(upper, -(secant * falls), secant),
        np.where(upper, -(secant * volts) * (1.0 + falls), 0.0),
    )


@dataclass(frozen=True, slots=True)
class DiodeRow:
    """A diode over columns: saturation current and ideality times the thermal voltage."""

    saturation_a: Row
    scale_v: Row


def limited_step(row: DiodeRow, new: Row, old: Row) -> Row:
    """Junction volts that do not run away: past the volts where the curve turns steep, two
    scale voltages at a time."""
    _, doublings = np.frexp(row.scale_v / row.saturation_a)
    steep = row.scale_v * LN_2 * doublings
    return np.minimum(new, np.maximum(old, steep) + 2.0 * row.scale_v)


def diode_current(row: DiodeRow, volts: Row) -> Row:
    """Amperes from anode to cathode at junction ``volts``."""
    return row.saturation_a * (exponential(np.clip(volts / row.scale_v, -700.0, 200.0)) - 1.0)


def diode_law(row: DiodeRow, volts: Row) -> tuple[Row, Row]:
    """(conductance, current) at junction ``volts``: tangent forward, secant in reverse, where a
    tangent would leave nothing to hold a node by; about zero the secant is 0/0."""
    amps = diode_current(row, volts)
    tangent = (amps + row.saturation_a) / row.scale_v
    reverse = volts < -DEAD_BAND_V
    secant = amps / np.where(reverse, volts, 1.0)
    return np.where(reverse, secant, tangent), np.where(reverse, 0.0, tangent * volts - amps)


@dataclass(frozen=True, slots=True)
class CurveRow:
    """A load known by points: ``volts`` rising from 0, ``amps`` (points x columns), none below
    0."""

    volts: Row
    amps: NDArray[np.float64]


def curve_current(row: CurveRow, volts: Row) -> Row:
    """Amperes at ``volts`` by straight lines between the points, held outside them; nothing when
    reversed."""
    amps, _ = _on_curve(row, volts)
    return amps * (volts > 0.0)


def curve_law(row: CurveRow, volts: Row, keen: Bools) -> tuple[Row, Row]:
    """(conductance, current): the tangent where ``keen`` or steeper than the secant, else the
    secant."""
    amps, slope = _on_curve(row, volts)
    forward = volts > -REVERSED_V
    secant = forward * amps / np.where(forward, volts, 1.0)
    slope = slope - HAIR * secant
    tangent = forward & (keen | (slope > secant))
    return np.where(tangent, slope, secant), np.where(tangent, slope * volts - amps, 0.0)


def curve_step(row: CurveRow, new: Row, old: Row) -> Row:
    """Volts that go down no further than just below the next point of the curve: a straight line
    says nothing of what lies past its end, and the highest crossing must not be jumped over. From
    just below a point they go up no further than to it. Where nothing feeds it they go at once.
    """
    at = _piece(row, old)
    top = row.volts[-1]
    low = np.where(old > top, top, np.where(at > 0, row.volts[at], -np.inf)) + REVERSED_V
    above = row.volts[at + 1]
    high = np.where((old < above) & (old > above + 2.0 * REVERSED_V), above, np.inf)
    return np.where(np.abs(new) < DEAD_V, new, np.clip(new, low, high))


def _piece(row: CurveRow, volts: Row) -> NDArray[np.intp]:
    at: NDArray[np.intp] = np.searchsorted(row.volts, volts, side="left") - 1
    return np.clip(at, 0, len(row.volts) - 2)


def _on_curve(row: CurveRow, volts: Row) -> tuple[Row, Row]:
    points = row.volts
    at = _piece(row, volts)
    columns = np.arange(row.amps.shape[1]) if row.amps.shape[1] > 1 else 0
    low, high = row.amps[at, columns], row.amps[at + 1, columns]
    slope = (high - low) / (points[at + 1] - points[at])
    inside = np.clip(volts, points[0], points[-1])
    return low + (inside - points[at]) * slope, np.where(volts == inside, slope, 0.0)
