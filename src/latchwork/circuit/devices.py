"""The laws of the non-linear branches, each as a conductance and a current at given volts.

A branch from ``plus`` to ``minus`` with volts V across it injects ``current - conductance * V``
into ``plus`` (and takes it out of ``minus``). Sources go by one region at a time, diodes by the
tangent when conducting. Loads go by the tangent in the columns that are ``keen``, which is
Newton's way and may be a negative conductance, else by the secant I/V, which never is; a source
that folds back likewise.

Rows are over columns; several branches of one kind may be stacked (branches x columns).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.eliminate import Row, some
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
    knee_v: Row = field(init=False)
    """Volts at which the limit begins; far below zero where there is none."""
    full_s: Row = field(init=False)
    full_a: Row = field(init=False)
    """Conductance and current where it gives."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "knee_v", self.volt - self.ohm * self.limit_a)
        object.__setattr__(self, "full_s", 1.0 / self.ohm)
        object.__setattr__(self, "full_a", self.volt / self.ohm)


def source_region(row: SourceRow, volts: Row, region: Region) -> Region:
    """The region one step on from ``region`` at ``volts``."""
    on = row.on > 0.0
    giving, limiting = region == GIVING, region == LIMITING
    stays = giving & ~(volts > row.volt + DEAD_BAND_V)
    past = volts < row.knee_v - DEAD_BAND_V
    comes = (region == OFF) & (volts < row.volt - DEAD_BAND_V)
    to_limit = stays & past
    if some(limiting):
        back = volts > row.knee_v + DEAD_BAND_V
        comes |= limiting & back
        to_limit |= limiting & ~back
    to_give = comes | (stays & ~past)
    new: Region = (on & to_give) * np.int8(GIVING) + (on & to_limit) * np.int8(LIMITING)
    return new


def source_law(
    row: SourceRow, volts: Row, region: Region, keen: Bools | bool = False
) -> tuple[Row, Row]:
    """(conductance, current) of a source in ``region``. Fold-back follows the last volts, or its
    slope where ``keen``."""
    giving = region == GIVING
    limiting = region == LIMITING
    conductance = giving * row.full_s
    current = giving * row.full_a
    if some(limiting):
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
    drawn: Row = field(init=False)
    """The amount; nothing where it is off."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "drawn", self.amount * self.on)


def load_conductance(row: LoadRow, volts: Row) -> Row:
    """The secant of the law; nothing when reversed.

    At zero volts it still conducts: a load with one leg cut off rests there, both legs alike.
    """
    by = np.maximum(volts, row.floor_v)
    np.multiply(by, by, out=by, where=row.power)
    secant: Row = np.divide(row.drawn, by, out=by if by.ndim > 1 else None)
    secant *= volts > REVERSED_V
    return secant


def load_law(row: LoadRow, volts: Row, keen: Bools) -> tuple[Row, Row]:
    """(conductance, current): the tangent where ``keen`` and above the floor, else the secant."""
    secant = load_conductance(row, volts)
    upper = keen & (volts > row.floor_v)
    falls = np.add(row.power, HAIR)
    amps = secant * volts
    amps *= -(1.0 + falls)
    if not upper.all():
        amps *= upper
    np.multiply(secant, -falls, out=secant, where=upper)
    return secant, amps


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
    secant = np.divide(amps, volts, out=np.zeros(amps.shape), where=forward)
    slope = slope - HAIR * secant
    tangent = forward & (keen | (slope > secant))
    current = slope * volts
    current -= amps
    if tangent.all():
        return slope, current
    current *= tangent
    np.copyto(secant, slope, where=tangent)
    return secant, current


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
    return np.where(np.abs(new) < DEAD_V, new, np.minimum(np.maximum(new, low), high))


def _piece(row: CurveRow, volts: Row) -> NDArray[np.intp]:
    at: NDArray[np.intp] = np.searchsorted(row.volts, volts, side="left") - 1
    return np.minimum(np.maximum(at, 0), len(row.volts) - 2)  # np.clip takes four times as long


def _on_curve(row: CurveRow, volts: Row) -> tuple[Row, Row]:
    points = row.volts
    at = _piece(row, volts)
    place = at
    if row.amps.shape[1] > 1:
        place = at + np.arange(0, row.amps.size, len(points))
    amps = row.amps.T.ravel()
    low = amps.take(place)
    slope = amps.take(place + 1)
    slope -= low
    slope /= (points[1:] - points[:-1]).take(at)
    inside = np.minimum(np.maximum(volts, points[0]), points[-1])
    low += (inside - points.take(at)) * slope
    slope *= volts == inside
    return low, slope
