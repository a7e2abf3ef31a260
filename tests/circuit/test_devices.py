"""Each non-linear branch in a circuit small enough to be worked out on paper."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.special import lambertw

from latchwork.circuit import (
    CurveRow,
    LoadRow,
    Solution,
    SourceRow,
    Start,
    Topology,
    order,
    solve,
)
from latchwork.circuit.devices import (
    DEAD_BAND_V,
    GIVING,
    LIMIT_S,
    LIMITING,
    OFF,
    source_region,
)
from tests.circuit.conservation import assert_sample_conserved
from tests.circuit.sample import Drawn, Resistance, Sample, Supply, Valve, solved


def run(sample: Sample) -> Solution:
    solution = solved(sample)
    assert_sample_conserved(sample, solution)
    return solution


def feeding(supply: Supply, *resistances: Resistance, loads: tuple[Drawn, ...] = ()) -> Solution:
    return run(Sample(4, resistances, supplies=(supply,), loads=loads))


def test_a_supply_gives_volts_less_its_inner_drop() -> None:
    """13.8 V behind 0.1 ohm on 24 ohm: 13.8 * 24 / 24.1."""
    solution = feeding(Supply(1, 0, 13.8, 0.1, limit_a=2.0), Resistance(1, 0, 24.0))
    assert solution.volts[1, 0] == pytest.approx(13.8 * 24.0 / 24.1, rel=1e-14)
    assert solution.regions[0][0] == GIVING


def test_a_supply_at_its_limit_gives_that_current() -> None:
    """2 A into 3 ohm: 6 V, but for what a microsiemens about the knee adds."""
    knee = 13.8 - 0.1 * 2.0
    solution = feeding(Supply(1, 0, 13.8, 0.1, limit_a=2.0), Resistance(1, 0, 3.0))
    want = (2.0 + LIMIT_S * knee) / (1.0 / 3.0 + LIMIT_S)
    assert solution.volts[1, 0] == pytest.approx(want, rel=1e-12)
    assert solution.volts[1, 0] == pytest.approx(6.0, abs=1e-4)
    assert solution.regions[0][0] == LIMITING


@pytest.mark.parametrize("ohm", [0.01, 0.5, 2.0, 5.0])
def test_a_supply_folds_back_along_a_straight_line(ohm: float) -> None:
    """From 2 A at the knee to 0.4 A at nothing: I = 0.4 + 1.6 V / 13.6 meets I = V / R, but for
    what a microsiemens about the knee adds."""
    knee = 13.8 - 0.1 * 2.0
    solution = feeding(Supply(1, 0, 13.8, 0.1, limit_a=2.0, fold_a=0.4), Resistance(1, 0, ohm))
    want = (0.4 + LIMIT_S * knee) / (1.0 / ohm - 1.6 / knee + LIMIT_S)
    assert solution.volts[1, 0] == pytest.approx(want, rel=1e-10)
    assert want == pytest.approx(0.4 / (1.0 / ohm - 1.6 / knee), abs=2e-4)


def test_the_higher_of_two_supplies_gives_and_the_other_is_off() -> None:
    """A battery of 12.8 V floats on a supply of 13.8 V and takes nothing back in."""
    sample = Sample(
        2,
        (Resistance(1, 0, 24.0),),
        supplies=(Supply(1, 0, 13.8, 0.1, limit_a=2.0), Supply(1, 0, 12.8, 0.05)),
    )
    solution = run(sample)
    assert solution.volts[1, 0] == pytest.approx(13.8 * 24.0 / 24.1, rel=1e-14)
    assert solution.regions[1][0] == OFF


def test_the_battery_helps_where_the_supply_is_at_its_limit() -> None:
    """6 ohm: the supply gives its 1 A, the battery the rest through 0.05 ohm.

    V / 6 = 1 + (12.8 - V) / 0.05, so V = (1 + 256) / (1/6 + 20).
    """
    sample = Sample(
        2,
        (Resistance(1, 0, 6.0),),
        supplies=(Supply(1, 0, 13.8, 0.1, limit_a=1.0), Supply(1, 0, 12.8, 0.05)),
    )
    assert run(sample).volts[1, 0] == pytest.approx(257.0 / (1.0 / 6.0 + 20.0), abs=1e-6)


def test_an_unloaded_supply_stands_at_its_volts() -> None:
    solution = feeding(Supply(1, 0, 27.3, 0.05, limit_a=3.0), Resistance(1, 2, 1.0))
    assert solution.volts[1, 0] == pytest.approx(27.3, abs=1e-6)
    assert solution.volts[2, 0] == solution.volts[1, 0]
    assert solution.volts[3, 0] == 0.0


@pytest.mark.parametrize("watts", [0.1, 1.0, 3.0, 4.4])
def test_a_constant_power_load_takes_the_upper_answer(watts: float) -> None:
    """12 V through 8 ohm: V**2 - 12 V + 8 P = 0 has V = 6 + sqrt(36 - 8 P) up to 4.5 W."""
    solution = feeding(
        Supply(1, 0, 12.0, 0.1), Resistance(1, 2, 7.9), loads=(Drawn(2, 0, True, watts, 5.0),)
    )
    assert solution.volts[2, 0] == pytest.approx(6.0 + math.sqrt(36.0 - 8.0 * watts), abs=1e-8)


@pytest.mark.parametrize("watts", [4.51, 5.0, 8.0, 40.0])
def test_a_constant_power_load_that_cannot_be_fed_browns_out(watts: float) -> None:
    """Past 4.5 W there is no answer above the floor of 5 V; below it, it is 25 / P ohm."""
    ohm = 25.0 / watts
    solution = feeding(
        Supply(1, 0, 12.0, 0.1), Resistance(1, 2, 7.9), loads=(Drawn(2, 0, True, watts, 5.0),)
    )
    assert solution.volts[2, 0] == pytest.approx(12.0 * ohm / (8.0 + ohm), abs=1e-6)


def test_of_two_answers_the_one_above_is_taken_and_history_keeps_the_one_below() -> None:
    """4 W behind 8 ohm with a floor of 3 V: both 6 + 2 = 8 V and 12 * 2.25 / 10.25 V hold."""
    sample = Sample(
        3,
        (Resistance(1, 2, 7.9),),
        supplies=(Supply(1, 0, 12.0, 0.1),),
        loads=(Drawn(2, 0, True, 4.0, 3.0),),
    )
    assert run(sample).volts[2, 0] == pytest.approx(8.0, abs=1e-8)
    begin = Start(
        np.array([[11.0], [1.0]]),
        np.array([[GIVING], [OFF]], dtype=np.int8),
    )
    topology = sample.topology
    low = solve(
        order(topology),
        3,
        topology.nonlinear,
        [np.array([1.0 / 7.9])],
        (),
        sample.devices(),
        1,
        begin,
    )
    assert low.solved.all()
    assert low.volts[2, 0] == pytest.approx(12.0 * 2.25 / 10.25, abs=1e-6)


def test_power_that_comes_back_finds_its_loads_at_the_high_side() -> None:
    """From nothing at all, the supply off, the load must not be caught at the lower answer."""
    sample = Sample(
        3,
        (Resistance(1, 2, 7.9),),
        supplies=(Supply(1, 0, 12.0, 0.1),),
        loads=(Drawn(2, 0, True, 4.0, 3.0),),
    )
    begin = Start(
        np.zeros((2, 1)),
        np.full((2, 1), OFF, dtype=np.int8),
    )
    topology = sample.topology
    back = solve(
        order(topology),
        3,
        topology.nonlinear,
        [np.array([1.0 / 7.9])],
        (),
        sample.devices(),
        1,
        begin,
    )
    assert back.volts[2, 0] == pytest.approx(8.0, abs=1e-8)


@pytest.mark.parametrize(("amps", "want"), [(0.5, 12.0 - 4.0), (1.2, 12.0 * 5.0 / 14.6)])
def test_a_constant_current_load_holds_its_current_down_to_its_floor(
    amps: float, want: float
) -> None:
    """12 V through 8 ohm, floor 6 V: 1.2 A would leave 2.4 V, so it is 5 ohm, and 4.6 V."""
    solution = feeding(
        Supply(1, 0, 12.0, 0.1), Resistance(1, 2, 7.9), loads=(Drawn(2, 0, False, amps, 6.0),)
    )
    if amps > 1.0:
        ohm = 6.0 / amps
        want = 12.0 * ohm / (8.0 + ohm)
    assert solution.volts[2, 0] == pytest.approx(want, abs=1e-8)


def test_a_reversed_load_draws_nothing() -> None:
    solution = feeding(
        Supply(1, 0, 12.0, 0.1), Resistance(1, 2, 7.9), loads=(Drawn(0, 2, True, 3.0, 5.0),)
    )
    assert solution.volts[2, 0] == pytest.approx(12.0, abs=1e-9)


@pytest.mark.parametrize("power", [True, False])
def test_a_load_with_one_leg_cut_off_rests_with_both_alike(power: bool) -> None:
    solution = feeding(
        Supply(1, 0, 12.0, 0.1), Resistance(1, 2, 7.9), loads=(Drawn(2, 3, power, 0.3, 5.0),)
    )
    assert solution.volts[3, 0] == pytest.approx(12.0, abs=1e-9)


def test_a_diode_in_series_drops_what_shockley_says() -> None:
    """12 V - R I = n Vt ln(1 + I / Is): I by Lambert's W (scipy), R = 24 + 0.1 ohm."""
    valve = Valve(1, 2)
    sample = Sample(
        3, (Resistance(2, 0, 24.0),), supplies=(Supply(1, 0, 12.0, 0.1),), diodes=(valve,)
    )
    solution = run(sample)
    scale, leak, ohm = valve.scale_v, valve.saturation_a, 24.1
    inner = leak * ohm / scale * math.exp((12.0 + leak * ohm) / scale)
    amps = scale / ohm * float(lambertw(inner).real) - leak
    assert solution.volts[2, 0] == pytest.approx(24.0 * amps, abs=1e-8)


def test_a_diode_across_a_coil_lets_its_leak_through_and_no_more() -> None:
    """Reversed at 12 V it leaks its saturation current: 12 V - 24 ohm * (12/24 + 1 nA) …"""
    sample = Sample(
        3,
        (Resistance(1, 2, 100.0),),
        supplies=(Supply(1, 0, 12.0, 0.1),),
        diodes=(Valve(0, 2),),
    )
    solution = run(sample)
    assert 12.0 - solution.volts[2, 0] == pytest.approx(100.1 * 1e-9, rel=1e-4)


def test_a_diode_put_in_backwards_shorts_the_supply_to_its_limit() -> None:
    sample = Sample(
        2,
        (Resistance(1, 0, 24.0),),
        supplies=(Supply(1, 0, 12.0, 0.1, limit_a=2.0),),
        diodes=(Valve(1, 0),),
    )
    solution = run(sample)
    valve = sample.diodes[0]
    through = 2.0 - solution.volts[1, 0] / 24.0
    assert solution.volts[1, 0] == pytest.approx(
        valve.scale_v * math.log1p(through / valve.saturation_a), abs=1e-5
    )


@pytest.mark.parametrize(("battery_on", "want", "most"), [(1.0, 20.9, 3), (0.0, 0.0, 2)])
def test_a_supply_that_is_off_sets_no_start(battery_on: float, want: float, most: int) -> None:
    """From 27.3 V to a battery of 21 V behind 0.1 ohm on a curve of 1 A, or to nothing: not down
    from point to point of the curve, nine of which lie between 27.3 and 20.9 V."""
    points = np.linspace(0.0, 27.3, 41)
    curve = CurveRow(points, np.where(points > 0.0, 1.0, 0.0).reshape(-1, 1))
    one = np.ones(1)
    mains = SourceRow(27.3 * one, 0.1 * one, 1e12 * one, 1e12 * one, 0.0 * one)
    battery = SourceRow(21.0 * one, 0.1 * one, 1e12 * one, 1e12 * one, battery_on * one)
    topology = Topology(2, (), ((1, 0), (1, 0), (1, 0)))
    start = Start(np.array([[27.2], [27.2], [27.2]]), np.array([[OFF], [OFF], [OFF]], np.int8))
    solution = solve(
        order(topology), 2, topology.nonlinear, (), (), [mains, battery, curve], 1, start
    )
    assert solution.volts[1, 0] == pytest.approx(want, abs=1e-6)
    assert solution.steps <= most


def test_a_curve_is_followed_by_straight_lines() -> None:
    """0 A at 0 V, 1 A at 10 V, 0.5 A at 12 V, behind 2 ohm from 13 V: on the falling piece
    I = 1 - (V - 10) / 4 and V = 13 - 2 I give V = 12 V; from 8 V on the rising one 65 / 6 is past
    its end, so 12 V it is."""
    points = np.array([0.0, 10.0, 12.0, 14.0])
    curve = CurveRow(points, np.array([[0.0], [1.0], [0.5], [0.4]]))
    topology = Topology(2, (), ((1, 0), (1, 0)))
    one = np.ones(1)
    source = SourceRow(13.0 * one, 2.0 * one, 1e12 * one, 1e12 * one, one)
    solution = solve(order(topology), 2, topology.nonlinear, (), (), [source, curve], 1)
    assert solution.solved.all()
    assert solution.volts[1, 0] == pytest.approx(12.0, abs=1e-9)


@settings(deadline=None)
@given(
    st.lists(st.one_of(st.just(0.0), st.floats(0.01, 2.0)), min_size=6, max_size=6),
    st.floats(0.05, 6.0),
    st.floats(9.0, 15.0),
)
def test_on_any_curve_the_highest_crossing_is_found(
    amps: list[float], ohm: float, volt: float
) -> None:
    """Against a search of each straight piece, from the top down, for (E - V) / R = I(V)."""
    points = np.array([0.0, 3.0, 6.0, 9.0, 12.0, 15.0])
    high = np.array([0.0, *amps[1:]])
    topology = Topology(2, (), ((1, 0), (1, 0)))
    one = np.ones(1)
    source = SourceRow(volt * one, ohm * one, 1e12 * one, 1e12 * one, one)
    curve = CurveRow(points, high.reshape(-1, 1))
    solution = solve(order(topology), 2, topology.nonlinear, (), (), [source, curve], 1)
    assert solution.solved.all()
    ours = float(solution.volts[1, 0])
    crossings = []
    for n in range(5):
        slope = (high[n + 1] - high[n]) / 3.0
        assume(abs(1.0 / ohm + slope) > 1e-3)  # not one along the other
        # (E - V) / R = I_n + slope * (V - V_n)
        v = (volt / ohm - high[n] + slope * points[n]) / (1.0 / ohm + slope)
        if points[n] - 1e-9 <= v <= points[n + 1] + 1e-9:
            crossings.append(v)
    assert abs(ours - max(crossings)) < 1e-6


def test_a_lower_supply_beside_it_does_not_drag_a_load_down() -> None:
    """A port of 53.5 V and 0.6 A and a supply of 13.65 V on one pair, 20 W: 53.3 V holds the load;
    begun from both giving, the port would be at its limit and the load caught near 13 V."""
    sample = Sample(
        2,
        (),
        supplies=(Supply(1, 0, 53.5, 0.3, limit_a=0.6), Supply(1, 0, 13.65, 0.04, limit_a=3.0)),
        loads=(Drawn(1, 0, True, 20.0, 9.0),),
    )
    want = (53.5 + math.sqrt(53.5**2 - 4.0 * 0.3 * 20.0)) / 2.0
    assert run(sample).volts[1, 0] == pytest.approx(want, abs=1e-7)


def test_supplies_that_would_take_turns_come_to_rest() -> None:
    """Four supplies on one net, two of them at their limit below what the loads take."""
    supplies = (
        Supply(1, 0, 27.3, 0.04, limit_a=1.2),
        Supply(1, 0, 21.0, 0.055),
        Supply(2, 0, 50.5, 0.3, limit_a=0.0909),
        Supply(3, 0, 53.5, 0.3, limit_a=0.9),
    )
    resistances = (Resistance(1, 2, 0.7), Resistance(2, 3, 0.9))
    for watts in np.linspace(5.0, 60.0, 111):
        loads = (
            Drawn(1, 0, False, 0.7, 13.65),
            Drawn(2, 0, True, float(watts) / 2.0, 9.0),
            Drawn(3, 0, True, float(watts) / 2.0, 9.0),
        )
        run(Sample(4, resistances, supplies=supplies, loads=loads))


def test_loads_that_are_off_cost_no_steps() -> None:
    topology = Topology(2, (), ((1, 0), (1, 0)))
    one = np.ones(1)
    source = SourceRow(13.0 * one, 2.0 * one, 1e12 * one, 1e12 * one, one)
    off = LoadRow(True, one, one, np.zeros(1))
    solution = solve(order(topology), 2, topology.nonlinear, (), (), [source, off], 1)
    assert solution.steps == 1
    assert solution.volts[1, 0] == 13.0


def stepped(region: int, volts: float, on: bool, volt: float, knee_v: float) -> int:
    """A source that is off takes nothing in; it comes on below its volts, is at its limit below
    the knee, and goes through the one before it comes to the other."""
    if not on:
        return OFF
    if region == OFF:
        return GIVING if volts < volt - DEAD_BAND_V else OFF
    if region == LIMITING:
        return GIVING if volts > knee_v + DEAD_BAND_V else LIMITING
    if volts > volt + DEAD_BAND_V:
        return OFF
    return LIMITING if volts < knee_v - DEAD_BAND_V else GIVING


regions = st.sampled_from([OFF, GIVING, LIMITING])
around_v = st.sampled_from([-1.0, 0.0, 11.8, 11.8 + 5e-7, 11.9, 12.0, 12.0 - 5e-7, 12.1, 13.0])


@given(st.lists(st.tuples(regions, around_v, st.booleans()), min_size=1, max_size=12))
def test_sources_of_many_columns_step_as_each_does_alone(
    its: list[tuple[int, float, bool]],
) -> None:
    """12 V behind 0.1 ohm with a limit of 2 A: the knee is at 12 - 0.2 = 11.8 V."""
    on = np.array([o for *_, o in its], dtype=float)
    row = SourceRow(np.array([12.0]), np.array([0.1]), np.array([2.0]), np.array([2.0]), on)
    was = np.array([r for r, *_ in its], dtype=np.int8)
    found = source_region(row, np.array([v for _, v, _ in its]), was)
    assert found.dtype == np.int8
    assert found.tolist() == [stepped(r, v, o, 12.0, 11.8) for r, v, o in its]
