"""Coils, their current and their four thresholds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from latchwork.elements import (
    Bolt,
    Certainty,
    Diode,
    Latch,
    Load,
    Resistor,
    ResistorRole,
    Timer,
)
from latchwork.parts import Part, PartsErrors, catalogue


@dataclass(frozen=True)
class Said:
    """A figure as a job would give it."""

    value: float
    unit: str
    low: float
    high: float
    certainty: Certainty = Certainty.DATA_SHEET


def said(value: float, unit: str) -> Said:
    return Said(value, unit, value, value)


def coil(part: Part, name: str = "coil") -> Resistor:
    found = next(e for e in part.elements if e.name == name)
    assert isinstance(found, Resistor)
    assert found.role is ResistorRole.COIL
    return found


def bolt(part: Part) -> Bolt:
    return next(r for r in part.rules if isinstance(r, Bolt))


@pytest.mark.parametrize(
    ("name", "ohm"),
    [
        # 12 V 0.25 A strike = 48 Ω, 12 V 0.5 A magnet = 24 Ω: the voltage-drop worked examples
        # (computed). Magnet 0.5 A at 12 V, 0.25 A at 24 V: common practice, no source.
        ("strike 12 V fail-secure", 48.0),
        ("magnet 12 V", 24.0),
        ("magnet 24 V", 96.0),
    ],
)
def test_coil_resistance_follows_from_current(name: str, ohm: float) -> None:
    assert coil(catalogue().find(name).resolve()).ohm.value == pytest.approx(ohm, rel=0.01)


def test_strike_picks_up_at_85_percent_of_rated_volts() -> None:
    # ANSI/BHMA A156.31 (2001): operation checked at 85 % of rated voltage; 12 V gives 10.2 V.
    for name, volts in (("strike 12 V fail-secure", 10.2), ("strike 24 V fail-safe", 20.4)):
        assert bolt(catalogue().find(name).resolve()).surely_pick_v == pytest.approx(volts)


def test_a_magnet_lets_go_below_a_tenth() -> None:
    # Common practice, no source.
    moved = bolt(catalogue().find("magnet 24 V").resolve())
    assert moved.surely_release_v == pytest.approx(2.4)
    assert moved.may_pick_v == pytest.approx(2.4)


def test_a_magnet_holds_down_to_half_its_rated_pull() -> None:
    # Maxwell's pull F = B²A/2μ0 with B in proportion to the current below saturation (from memory):
    # at 71 % of the volts half the pull. That half of it holds: common practice, no source.
    share = bolt(catalogue().find("magnet 12 V").resolve()).surely_hold_v / 12.0
    mu0, turns, gap_m, area_m2 = 4e-7 * math.pi, 1000.0, 1e-4, 2e-3

    def pull_n(current_a: float) -> float:
        return float((mu0 * turns * current_a / (2 * gap_m)) ** 2 * area_m2 / (2 * mu0))

    assert pull_n(0.5 * share) / pull_n(0.5) == pytest.approx(0.5, abs=0.01)
    # So 10.5 V, a 12 V battery at its end, surely hold.
    assert pull_n(0.5 * 10.5 / 12) / pull_n(0.5) == pytest.approx(0.77, abs=0.005)
    assert share * 12.0 < 10.5


def test_holds_down_to_sets_what_a_magnet_holds_and_pulls_at() -> None:
    part = catalogue().find("magnet 24 V").resolve({"holds down to": said(19.0, "V")})
    assert bolt(part).surely_hold_v == 19.0
    assert bolt(part).surely_pick_v == 19.0
    assert part.figures["surely_hold_v"].certainty is Certainty.DATA_SHEET


def test_a_range_of_volts_is_sure_only_beyond_its_end() -> None:
    # By the words' own meaning: a lock that picks up at 12 to 19 V, one to the next, may at 12 V
    # and surely does at 19 V only; so with the others. A guess has no such ends.
    ranges = {
        "may pick up at": Said(10.0, "V", 8.0, 12.0),
        "picks up at": Said(15.5, "V", 12.0, 19.0),
        "holds down to": Said(9.0, "V", 7.0, 11.0),
        "lets go at": Said(3.0, "V", 2.0, 4.0),
    }
    its = bolt(catalogue().find("strike 24 V fail-safe").resolve(ranges))
    assert (its.may_pick_v, its.surely_pick_v) == (8.0, 19.0)
    assert (its.surely_hold_v, its.surely_release_v) == (11.0, 2.0)
    # Where the two ends alone are written, they say as much: 13.2 V, 55 % of 24 V, is no longer
    # what it surely does not pick up below, nor 2.4 V, 10 %, what it surely lets go below.
    two = {"picks up at": ranges["picks up at"], "holds down to": Said(5.0, "V", 2.0, 8.0)}
    its = bolt(catalogue().find("strike 24 V fail-safe").resolve(two))
    assert (its.may_pick_v, its.surely_release_v) == (12.0, 2.0)
    guess = {"picks up at": Said(15.5, "V", 12.0, 19.0, Certainty.GUESSED)}
    assert bolt(catalogue().find("strike 24 V fail-safe").resolve(guess)).surely_pick_v == 15.5


def test_what_a_job_says_in_the_wrong_order_is_told() -> None:
    # A coil lets go with less than it holds at.
    swapped = {"holds down to": said(3.0, "V"), "lets go at": said(18.0, "V")}
    with pytest.raises(PartsErrors) as told:
        catalogue().find("magnet 24 V").resolve(swapped)
    (problem,) = told.value.problems
    assert (problem.field, problem.found, problem.code) == ("lets go at", "18 V", "part.order")
    shares = {"holds down to share": said(0.5, "1"), "lets go share": said(0.6, "1")}
    with pytest.raises(PartsErrors) as told:
        catalogue().find("magnet 24 V").resolve(shares)
    assert [(p.field, p.found) for p in told.value.problems] == [("lets go share", "60 %")]


def test_holds_down_to_leaves_the_pick_up_of_a_strike() -> None:
    part = catalogue().find("strike 24 V fail-safe").resolve({"holds down to": said(9.0, "V")})
    assert bolt(part).surely_hold_v == 9.0
    assert bolt(part).surely_pick_v == pytest.approx(20.4)


def test_current_said_in_a_job_wins_over_resistance_and_the_other_way() -> None:
    spec = catalogue().find("strike 12 V AC/DC fail-secure")
    assert coil(spec.resolve({"current": said(0.4, "A")})).ohm.value == pytest.approx(30.0)
    assert coil(spec.resolve({"resistance": said(31.0, "Ω")})).ohm.value == 31.0


def test_works_from_moves_the_sure_pick_up() -> None:
    part = catalogue().find("strike 12 V fail-secure").resolve({"works from": said(9.0, "V")})
    assert bolt(part).surely_pick_v == 9.0
    assert part.figures["rated_low_v"].value == 9.0


def test_ratings_default_to_minus_15_and_plus_20_percent() -> None:
    # Common practice, no source.
    figures = catalogue().find("magnet 12 V").resolve().figures
    assert figures["rated_low_v"].value == pytest.approx(10.2)
    assert figures["rated_high_v"].value == pytest.approx(14.4)


def test_a_built_in_diode_points_to_plus_and_makes_polarity_matter() -> None:
    part = catalogue().find("strike 12 V fail-secure, diode").resolve()
    diode = next(e for e in part.elements if isinstance(e, Diode))
    assert (diode.anode, diode.cathode) == ("-", "+")
    assert part.facts["polarised"] is True
    assert bolt(part).either_way is False
    plain = catalogue().find("strike 12 V fail-secure").resolve()
    assert plain.facts["polarised"] is False
    assert bolt(plain).either_way is True


def test_staged_coil_takes_its_pick_up_current_first() -> None:
    part = catalogue().find("strike 12 V fail-secure, staged coil").resolve()
    held, first = coil(part).ohm.value, coil(part, "pick-up coil").ohm.value
    assert 12.0 / held == pytest.approx(0.15, rel=0.01)
    assert 12.0 / held + 12.0 / first == pytest.approx(0.9, rel=0.01)
    assert next(r.flag for r in part.rules if isinstance(r, Timer)) == "picking"


def test_links_put_the_halves_of_a_coil_in_series() -> None:
    spec = catalogue().find("magnet 12/24 V")
    low, high = spec.resolve(), spec.resolve({"linked for": said(24.0, "V")})
    assert low.figures["current_a"].value == pytest.approx(0.5, rel=0.01)
    assert high.figures["current_a"].value == pytest.approx(0.25, rel=0.01)
    assert bolt(high).surely_hold_v == pytest.approx(2 * bolt(low).surely_hold_v)
    assert high.figures["rated_high_v"].value == pytest.approx(28.8)


def test_what_is_said_of_a_linked_lock_is_said_of_it_so_linked() -> None:
    """A meter finds 96 Ω on a coil that takes 0.25 A at 24 V (Ohm's law): whichever of the two is
    written, the lock is the one of 0.5 A at 12 V with its links changed over."""
    spec = catalogue().find("magnet 12/24 V")
    for word, value, unit in (("current", 0.25, "A"), ("resistance", 96.0, "Ω")):
        part = spec.resolve({"linked for": said(24.0, "V"), word: said(value, unit)})
        assert part.figures["current_a"].value == pytest.approx(0.25)
        assert coil(part).ohm.value == pytest.approx(96.0)
    rated = {"works from": said(20.0, "V"), "works up to": said(28.0, "V")}
    part = spec.resolve({"linked for": said(24.0, "V"), **rated})
    ends = (part.figures["rated_low_v"].value, part.figures["rated_high_v"].value)
    assert ends == (20.0, 28.0)


def test_an_ac_coil_on_direct_current_takes_far_more() -> None:
    part = catalogue().find("strike 12 V AC fail-secure").resolve()
    found = coil(part)
    assert found.impedance_ohm is not None
    assert found.ohm.high < 0.5 * found.impedance_ohm.low
    assert part.facts["current_kind"] == "ac"
    assert part.facts["suppression"] == "forbidden"


@pytest.mark.parametrize("name", ["strike 12 V AC fail-secure", "strike 12 V AC/DC fail-secure"])
def test_a_current_said_of_a_lock_on_alternating_current_is_what_it_takes(name: str) -> None:
    """0.8 A at 12 V are 15 Ω of impedance (Ohm's law), whatever the catalogue's strike has."""
    part = catalogue().find(name).resolve({"current": said(0.8, "A")})
    assert part.figures["current_a"].value == pytest.approx(0.8)
    found = coil(part)
    assert (found.impedance_ohm or found.ohm).value == pytest.approx(15.0)


def test_an_electronically_driven_coil_is_constant_power() -> None:
    part = catalogue().find("strike 12 to 24 V fail-secure").resolve()
    load = next(e for e in part.elements if isinstance(e, Load))
    assert load.name == "coil"
    assert bolt(part).surely_pick_v == 10.0


def test_a_motor_lock_that_stays_put_remembers_where_it_is() -> None:
    stays = catalogue().find("motor lock 12 V").resolve()
    latch = next(r for r in stays.rules if isinstance(r, Latch))
    assert latch.flag == "drawn"
    assert stays.facts["stays_put"] is True
    springs = catalogue().find("motor lock 12 V fail-secure").resolve()
    assert not [r for r in springs.rules if isinstance(r, Latch)]


def test_a_magnet_of_280_kg() -> None:
    # 280 kg by standard gravity 9.80665 m/s² (exact by definition).
    force = catalogue().find("magnet 12 V").resolve().figures["holding_n"]
    assert force.value == pytest.approx(280 * 9.80665)
