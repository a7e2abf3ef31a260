"""A battery through its discharge, in small steps of charge, each with its time.

At depth d (0 full, 1 empty) under the load I of the whole supply:

    V = Vr(d) - Vk(d) - R * I(V)            volts at the supply's output
    dt = C * dd / I                         up to the rated current I20 = C / 20 h
    dt = C * dd / (I * (I / I20)^(k - 1))   above it (Peukert)

Vr is a straight line between a full and an empty rested cell; Vk takes the last tenth of the
charge down to the end of discharge (common practice, no source); R is battery, fuse and contact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour.shape import Array
from latchwork.power.battery import PEUKERT, RATE_H

STEPS = 2000
KNEE = 0.1
"""Share of the charge over which the volts fall from the empty cell's to the end."""
LEAST_A = 1e-4
"""A battery that feeds nothing lasts as if it fed a tenth of a milliamp."""


@dataclass(frozen=True, slots=True)
class Pack:
    """A battery as discharged: volts of all cells together, usable capacity when full, and how much
    of its charge it begins with."""

    full_v: float
    flat_v: float
    end_v: float
    ohm: float
    usable_ah: float
    exponent: float = PEUKERT
    left: float = 1.0


@dataclass(frozen=True, slots=True)
class Discharge:
    """Hours, output volts and amperes from the beginning to the end, in equal steps of charge."""

    hours: Array
    volts: Array
    amps: Array

    def hours_above(self, volts: float) -> float:
        """Hours until the output falls below ``volts``; all of them where it never does."""
        below = np.flatnonzero(self.volts < volts)
        if len(below) == 0:
            return float(self.hours[-1])
        n = int(below[0])
        if n == 0:
            return 0.0
        v0, v1 = self.volts[n - 1], self.volts[n]
        part = (v0 - volts) / (v0 - v1)
        return float(self.hours[n - 1] + part * (self.hours[n] - self.hours[n - 1]))


def rested_v(pack: Pack, depth: Array) -> Array:
    """Volts without load at ``depth``."""
    line = pack.full_v + (pack.flat_v - pack.full_v) * depth
    tail = np.clip((depth - (1.0 - KNEE)) / KNEE, 0.0, 1.0)
    rested: Array = line - (pack.flat_v - pack.end_v) * tail * tail
    return rested


def discharge(
    pack: Pack, volts: Sequence[float] | Array, amps: Sequence[float] | Array
) -> Discharge:
    """Discharge ``pack`` into a load that draws ``amps`` at each of ``volts``."""
    depth = np.linspace(1.0 - pack.left, 1.0, STEPS + 1)
    open_v = rested_v(pack, depth)
    known_v, known_a = np.asarray(volts), np.asarray(amps)
    seen = open_v
    for _ in range(20):
        seen = open_v - pack.ohm * np.interp(seen, known_v, known_a)
    drawn = np.maximum(np.interp(seen, known_v, known_a), LEAST_A)
    rated_a = pack.usable_ah / RATE_H
    speed = drawn * np.maximum(drawn / rated_a, 1.0) ** (pack.exponent - 1.0) / pack.usable_ah
    per_hour = 1.0 / speed
    step = 0.5 * (per_hour[1:] + per_hour[:-1]) * pack.left / STEPS
    hours = np.concatenate([[0.0], np.cumsum(step)])
    over = np.flatnonzero(seen < pack.end_v)
    end = int(over[0]) + 1 if len(over) else len(depth)
    return Discharge(hours[:end], seen[:end], drawn[:end])
