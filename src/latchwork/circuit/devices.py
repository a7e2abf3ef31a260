"""The laws of the non-linear branches, each as a positive conductance and a current.

A branch from ``plus`` to ``minus`` with volts V across it injects ``current - conductance * V``
into ``plus`` (and takes it out of ``minus``). Conductances are never negative: loads appear as
the secant I/V, sources by one region at a time, diodes by the tangent when conducting.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.eliminate import Row

DEAD_BAND_V = 1e-6
REVERSED_V = -1e-9
"""A load is reversed below this; rounding stays well above it."""
LIMIT_S = 1e-6
"""Conductance of a source at its limit, about the knee: none has an endless one, and it keeps the
node held."""
THERMAL_V = 0.025852
"""kT/q at 300 K."""

OFF, GIVING, LIMITING = 0, 1, 2
Region = NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class SourceRow:
    """A source over columns. ``limit_a`` inf where there is none; ``fold_a`` the current at zero
    volts (equal to limit_a where it does not fold); ``on`` 0 or 1."""

    volt: Row
    ohm: Row
    limit_a: Row
    fold_a: Row
    on: Row


def source_region(row: SourceRow, volts: Row, region: Region) -> Region:
    """The region one step on from ``region`` at ``volts``."""
    knee = row.volt - row.ohm * np.minimum(row.limit_a, 1e9)
    above = volts > row.volt + DEAD_BAND_V
    below = volts < row.volt - DEAD_BAND_V
    past = volts < knee - DEAD_BAND_V
    back = volts > knee + DEAD_BAND_V
    new = np.where(
        region == GIVING,
        np.where(above, OFF, np.where(past, LIMITING, GIVING)),
        np.where(region == OFF, np.where(below, GIVING, OFF), np.where(back, GIVING, LIMITING)),
    )
    return np.where(row.on > 0.0, new, OFF).astype(np.int8)


def source_law(row: SourceRow, volts: Row, region: Region) -> tuple[Row, Row]:
    """(conductance, current) of a source in ``region``. Fold-back follows the last volts."""
    giving = region == GIVING
    limiting = region == LIMITING
    knee = np.maximum(row.volt - row.ohm * np.minimum(row.limit_a, 1e9), 1e-9)
    at_limit = row.fold_a + (row.limit_a - row.fold_a) * np.clip(volts / knee, 0.0, 1.0)
    at_limit = np.where(limiting, at_limit + LIMIT_S * knee, 0.0)
    conductance = np.where(giving, 1.0 / row.ohm, np.where(limiting, LIMIT_S, 0.0))
    current = np.where(giving, row.volt / row.ohm, np.where(limiting, at_limit, 0.0))
    return conductance, current


def source_current(row: SourceRow, volts: Row, region: Region) -> Row:
    """Amperes given at ``volts``."""
    conductance, current = source_law(row, volts, region)
    return current - conductance * volts


@dataclass(frozen=True, slots=True)
class LoadRow:
    """A load over columns: watts or amperes, and the volts under which it fades."""

    power: bool
    amount: Row
    floor_v: Row
    on: Row


def load_law(row: LoadRow, volts: Row) -> tuple[Row, Row]:
    """(conductance, current): the secant of the law; nothing when reversed.

    At zero volts it still conducts: a load with one leg cut off rests there, both legs alike.
    """
    above = np.maximum(volts, row.floor_v)
    conductance = row.amount / (above * above) if row.power else row.amount / above
    return np.where(volts > REVERSED_V, conductance * row.on, 0.0), np.zeros(1)


@dataclass(frozen=True, slots=True)
class DiodeRow:
    """A diode over columns: saturation current and ideality times the thermal voltage."""

    saturation_a: Row
    scale_v: Row


def limited_step(row: DiodeRow, new: Row, old: Row) -> Row:
    """Junction volts that do not run away: a logarithmic step once past the critical voltage."""
    critical = row.scale_v * np.log(row.scale_v / (1.4142135623730951 * row.saturation_a))
    far = (new > critical) & (np.abs(new - old) > 2.0 * row.scale_v)
    with np.errstate(invalid="ignore", divide="ignore"):
        step = 1.0 + (new - old) / row.scale_v
        from_on = np.where(
            step > 0.0, old + row.scale_v * np.log(np.maximum(step, 1e-300)), critical
        )
        from_off = row.scale_v * np.log(np.maximum(new / row.scale_v, 1e-300))
    return np.where(far, np.where(old > 0.0, from_on, from_off), new)


def diode_law(row: DiodeRow, volts: Row) -> tuple[Row, Row]:
    """(conductance, current) at junction ``volts``: tangent forward, secant in reverse."""
    forward = volts > 0.0
    exponent = np.clip(volts / row.scale_v, -700.0, 200.0)
    grown = np.exp(exponent)
    amps = row.saturation_a * (grown - 1.0)
    tangent = row.saturation_a / row.scale_v * grown
    with np.errstate(invalid="ignore", divide="ignore"):
        secant = np.where(volts < 0.0, amps / volts, row.saturation_a / row.scale_v)
    return (
        np.where(forward, tangent, secant),
        np.where(forward, tangent * volts - amps, 0.0),
    )


def diode_current(row: DiodeRow, volts: Row) -> Row:
    """Amperes from anode to cathode at junction ``volts``."""
    amps: Row = row.saturation_a * (np.exp(np.clip(volts / row.scale_v, -700.0, 200.0)) - 1.0)
    return amps


@dataclass(frozen=True, slots=True)
class CurveRow:
    """A load known by points: ``volts`` rising from 0, ``amps`` (points x columns)."""

    volts: Row
    amps: NDArray[np.float64]


def curve_current(row: CurveRow, volts: Row) -> Row:
    """Amperes at ``volts`` by straight lines between the points, held outside them."""
    points = row.volts
    at = np.clip(np.searchsorted(points, volts, side="right") - 1, 0, len(points) - 2)
    columns = np.arange(row.amps.shape[1]) if row.amps.shape[1] > 1 else 0
    low, high = row.amps[at, columns], row.amps[at + 1, columns]
    part = np.clip((volts - points[at]) / (points[at + 1] - points[at]), 0.0, 1.0)
    amps: Row = low + part * (high - low)
    return amps


def curve_law(row: CurveRow, volts: Row) -> tuple[Row, Row]:
    """(conductance, current): the secant, nothing when reversed."""
    amps = curve_current(row, volts)
    with np.errstate(invalid="ignore", divide="ignore"):
        secant = np.where(volts > 1e-9, np.maximum(amps, 0.0) / volts, 0.0)
    return secant, np.zeros(1)
