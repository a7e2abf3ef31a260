"""Hours on battery of whole jobs, and the rules that speak of them."""

from __future__ import annotations

import pytest

from latchwork.behaviour import SiteOutcome, behave
from latchwork.findings import Severity
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.power.battery import cold_factor, peukert_hours
from latchwork.power.standby import standbys
from latchwork.rules import judge
from latchwork.wiring import wire

JOB = """
latchwork: 1
site: {{name: Quillet Yard, ambient: {ambient}, standby: {asked}}}
supplies:
  S1: {{part: supply 12 V, limit: 3 A, battery: 1 x 12 V {ah}, outputs: {{1: {{fuse: 2 A}}}}}}
doors:
  D1:
    name: Store
    supply: S1 out 1
    lock: {{part: magnet 12 V, holds down to: 8 V}}
    out by: nothing mechanical
    power lost: unlocks
    controller: controller, reader outside
    reader: reader
    controller at: door
    exit: exit button
    release: release, double pole
    runs: {{power: 5 m of 2 x 2.5 mm²}}
"""


def site(ambient: str = "10 to 30 °C", asked: str = "4 h", ah: str = "7 Ah") -> SiteOutcome:
    text = JOB.format(ambient=ambient, asked=asked, ah=ah)
    return behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))


def codes(found: SiteOutcome) -> set[str]:
    return {finding.rule for finding in judge(found)}


def test_hours_follow_the_discharge_law() -> None:
    (battery,) = standbys(site())
    usable = 7.0 / 1.25 / 1.19
    assert battery.usable_ah == pytest.approx(usable)
    assert battery.cold == cold_factor(10.0)
    # Peukert's own hours at the mean load; what ends it early are the last volts.
    by_hand = peukert_hours(battery.mean_a, usable)
    assert battery.holds_h == pytest.approx(by_hand, rel=0.06)
    assert battery.holds_h <= by_hand * 1.001


def test_short_hours_are_told_and_enough_are_not() -> None:
    assert "standby-short" not in codes(site(ah="17 Ah"))
    assert "standby-short" in codes(site(ah="2.1 Ah"))


def test_the_limit_is_the_hours_asked() -> None:
    (battery,) = standbys(site())
    over = f"{battery.holds_h + 0.02:.2f} h"
    under = f"{battery.holds_h - 0.02:.2f} h"
    assert "standby-short" in codes(site(asked=over))
    assert "standby-short" not in codes(site(asked=under))


def test_cold_takes_hours_and_a_new_battery_gives_them() -> None:
    (warm,), (cold,) = standbys(site("25 to 30 °C")), standbys(site("-3.9 to 30 °C"))
    assert warm.usable_ah / cold.usable_ah == pytest.approx(1.52)
    assert cold.holds_h < warm.holds_h < warm.new_holds_h


def test_the_lock_that_needs_most_lets_go_first() -> None:
    text = JOB.format(ambient="20 to 30 °C", asked="4 h", ah="7 Ah").replace("8 V", "11.5 V")
    found = behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))
    (battery,) = standbys(found)
    assert battery.losses[0].device == "D1.lock"
    assert battery.losses[0].what == "lets go"
    assert battery.losses[-1].what == "cut off"
    hours = [loss.hours for loss in battery.losses]
    assert hours == sorted(hours)


def test_charge_puts_back_what_was_taken() -> None:
    (battery,) = standbys(site())
    # A tenth of the capacity in amperes, 1.2 Ah for each Ah taken: common practice, no source.
    assert battery.charge_a == pytest.approx(0.7)
    assert battery.recover_h == pytest.approx(battery.mean_a * 4.0 * 1.2 / 0.7, rel=1e-6)


def test_a_battery_at_its_end_from_the_start_lasts_no_time() -> None:
    """One 12 V block where the supply wants two: cut off at once, at what it first draws."""
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah").replace("12 V,", "24 V,")
    found = behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))
    (battery,) = standbys(found)
    assert battery.holds_h == battery.new_holds_h == 0.0
    assert battery.mean_a == battery.course.amps[0]
    assert "standby-short" in codes(found)


def test_hours_asked_of_a_supply_without_a_battery_are_told() -> None:
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah")
    without = text.replace("battery: 1 x 12 V 7 Ah, ", "")
    assert without != text

    def told(job: str) -> set[str]:
        return codes(behave(wire(plan(read_job_text(job, "job.yaml"), catalogue()))))

    assert "no-battery" in told(without)
    assert "no-battery" not in told(text)
    assert "no-battery" not in told(without.replace(", standby: 4 h", ""))


def test_a_supply_chosen_without_a_battery_is_a_note() -> None:
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah")
    plain = text.replace("supply 12 V,", '"supply 12 V, no battery",')
    plain = plain.replace("battery: 1 x 12 V 7 Ah, ", "")
    found = judge(behave(wire(plan(read_job_text(plain, "job.yaml"), catalogue()))))
    assert [f.severity for f in found if f.rule == "no-battery"] == [Severity.NOTE]


def test_blocks_that_do_not_make_the_supplys_volts_are_told() -> None:
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah")
    two = text.replace("1 x 12 V", "2 x 12 V")

    def told(job: str) -> set[str]:
        return codes(behave(wire(plan(read_job_text(job, "job.yaml"), catalogue()))))

    assert "battery-volts" in told(two)
    assert "battery-volts" not in told(text)
    assert "battery-volts" not in told(text.replace("1 x 12 V 7 Ah", "2 x 6 V 12 Ah"))
