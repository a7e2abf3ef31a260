"""Batteries against handbook values: Peukert, IEEE 485 factors, NFPA 72 method, SciPy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from latchwork.power.battery import (
    AGEING,
    MARGIN,
    PEUKERT,
    RATE_H,
    cold_factor,
    peukert_ah,
    plain_method,
)
from latchwork.power.discharge import KNEE, Pack, discharge, rested_v
from tests.power.peukert import peukert_hours

# t = H (C / (I H))^k with H = 20 h, C = 7 Ah: hours by current and exponent. From memory,
# computed from the formula.
PEUKERT_TABLE = {
    0.35: (20.0, 20.0, 20.0, 20.0),
    0.70: (9.33, 9.01, 8.71, 8.41),
    1.0: (6.30, 5.98, 5.67, 5.38),
    1.4: (4.35, 4.06, 3.79, 3.54),
    2.0: (2.94, 2.69, 2.47, 2.26),
    3.5: (1.59, 1.42, 1.26, 1.12),
}


@pytest.mark.parametrize("current_a", PEUKERT_TABLE)
def test_hours_by_peukert(current_a: float) -> None:
    volts = np.linspace(0.0, 15.0, 31)
    for exponent, hours in zip((1.10, 1.15, 1.20, 1.25), PEUKERT_TABLE[current_a], strict=True):
        pack = Pack(12.9, 11.73, 10.5, 0.0, 7.0, exponent)
        course = discharge(pack, list(volts), list(np.full(len(volts), current_a)))
        assert course.hours[-1] == pytest.approx(hours, abs=0.006)


def test_the_exponent_fits_a_typical_block() -> None:
    # 12 V 7 Ah: 0.35 A for 20 h, 4.3 A for 1 h to 1.75 V a cell; typical, from memory.
    assert math.log(20.0) / math.log(4.3 / 0.35) == pytest.approx(1.194, abs=0.001)
    assert pytest.approx(1.194, abs=0.01) == PEUKERT


@pytest.mark.parametrize(
    ("celsius", "factor"),
    [(-3.9, 1.52), (4.4, 1.30), (10.0, 1.19), (15.6, 1.11), (21.1, 1.04), (25.0, 1.00)],
)
def test_cold_factors(celsius: float, factor: float) -> None:
    # IEEE 485 table 1, 1.215 specific gravity, from memory.
    assert cold_factor(celsius) == pytest.approx(factor)


def test_warmth_gives_no_credit() -> None:
    # The table says 0.94 at 32.2 °C; none is taken for security work (IEEE 485, from memory).
    assert cold_factor(32.2) == 1.0
    assert cold_factor(-10.0) > 1.52


def test_plain_method_is_a_product() -> None:
    # Ageing 1.25 and margin 1.10 (IEEE 485, from memory), 1.19 at 10 °C.
    plain = plain_method(0.35, 20.0, 10.0)
    assert (AGEING, MARGIN) == (1.25, 1.10)
    assert plain.base_ah == pytest.approx(7.0)
    assert plain.needed_ah == pytest.approx(7.0 * 1.25 * 1.10 * 1.19)


@pytest.mark.parametrize(
    ("standby_a", "alarm_a", "base_ah"), [(0.15, 1.5, 3.725), (0.42, 3.8, 10.397)]
)
def test_two_loads_one_after_the_other(standby_a: float, alarm_a: float, base_ah: float) -> None:
    # NFPA 72 arithmetic, 24 h standby then 5 min alarm: plain amp-hours, no Peukert.
    assert standby_a * 24 + alarm_a * 5 / 60 == pytest.approx(base_ah, abs=0.001)
    # At the 20 h rate or slower our own law takes no credit, so it never asks for less.
    assert peukert_ah(standby_a, 24.0) == pytest.approx(standby_a * 24.0)


def test_capacity_and_hours_are_inverse() -> None:
    for current_a in (0.1, 0.5, 1.0, 4.0):
        for capacity_ah in (1.2, 7.0, 17.0):
            hours = peukert_hours(current_a, capacity_ah)
            assert peukert_ah(current_a, hours) == pytest.approx(capacity_ah)


@pytest.mark.parametrize("amps", [0.4, 1.0, 2.5])
def test_the_course_against_fine_steps_of_scipy(amps: float) -> None:
    """dV and dt integrated through time by SciPy, event at the end of discharge."""
    pack = Pack(12.9, 11.73, 10.5, 0.05, 7.0)
    volts = np.linspace(0.0, 15.0, 31)
    load = np.where(volts > 0.0, amps * (0.6 + 0.4 * volts / 12.0), 0.0)

    def drawn(depth: float) -> tuple[float, float]:
        rested = float(rested_v(pack, np.array([depth]))[0])
        seen = rested
        for _ in range(60):
            seen = rested - pack.ohm * float(np.interp(seen, volts, load))
        return seen, float(np.interp(seen, volts, load))

    def rate(_: float, depth: np.ndarray) -> list[float]:
        _, current = drawn(float(depth[0]))
        rated = pack.usable_ah / RATE_H
        faster = max(current / rated, 1.0) ** (pack.exponent - 1.0)
        return [current * faster / pack.usable_ah]

    def ends(_: float, depth: np.ndarray) -> float:
        return drawn(float(depth[0]))[0] - pack.end_v

    ends.terminal = True  # type: ignore[attr-defined]  # how solve_ivp is told to stop there
    fine = solve_ivp(rate, (0.0, 100.0), [0.0], events=ends, rtol=1e-9, atol=1e-11, max_step=0.02)
    course = discharge(pack, list(volts), list(load))
    assert course.hours[-1] == pytest.approx(float(fine.t_events[0][0]), rel=1e-3)
    half = float(fine.t[-1]) / 2.0
    depth = float(np.interp(half, fine.t, fine.y[0]))
    half_v = float(np.interp(half, course.hours, course.volts))
    assert half_v == pytest.approx(drawn(depth)[0], abs=2e-3)


def test_volts_fall_to_the_end_of_discharge_over_the_last_tenth() -> None:
    # Rested full and empty volts: trade handbook, from memory; the knee: common practice.
    pack = Pack(12.9, 11.73, 10.5, 0.0, 7.0)
    depth = np.array([0.0, 0.5, 1.0 - KNEE, 1.0])
    full, half, knee, empty = rested_v(pack, depth)
    assert (full, empty) == (12.9, pytest.approx(10.5))
    assert 12.2 <= half <= 12.4, "half charged: about 12.2 to 12.3 V"
    assert 11.6 <= knee <= 11.9, "empty at rest: about 11.6 to 11.9 V"
