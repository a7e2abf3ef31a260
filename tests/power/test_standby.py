"""Hours on battery of whole jobs, and the rules that speak of them."""

from __future__ import annotations

import pytest

from latchwork.behaviour import SiteOutcome, behave
from latchwork.findings import Severity
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.power.battery import cold_factor
from latchwork.power.standby import standbys
from latchwork.rules import judge
from latchwork.wiring import wire
from tests.power.peukert import peukert_hours
from tests.rules.jobs import MAGNET, STRIKE, findings, job

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

CONTROLLER = '{part: "controller, reader outside", relay time: 5 s}'

TWO = """
latchwork: 1
site: {{name: Quillet Yard, ambient: 25 to 30 °C, standby: {asked}}}
supplies:
  S1: {{part: supply 12 V, battery: 1 x 12 V 7 Ah}}
  S2: {{part: supply 12 V, battery: 1 x 12 V 7 Ah}}
doors:
  D1:
    name: Store
    supply: S1
    lock: {{part: magnet 12 V, current: 0.5 A, supply: S2}}
    out by: nothing mechanical
    power lost: unlocks
    controller: controller, reader outside
    reader: reader
    release: release, double pole
    exit: exit button
    grants an hour: 0
    runs: {{power: 5 m of 2 x 2.5 mm², lock: 5 m of 2 x 2.5 mm²}}
"""
"""A magnet on one supply, its controller on another."""


def two(asked: str) -> SiteOutcome:
    return behave(wire(plan(read_job_text(TWO.format(asked=asked), "job.yaml"), catalogue())))


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
    # At 1.75 V a cell, 10.5 V (a trade handbook, from memory), a magnet that holds down to 8 V is
    # still held: the cut-off takes it, nothing before.
    assert [(loss.device, loss.what) for loss in battery.losses] == [("S1", "cut off")]


def test_a_battery_gives_its_volts_behind_its_own_fuse_and_cut_off() -> None:
    """Ohm's law: beside its own resistance a fuse of 10 A, 0.1 Ω / 10^1.2, and a contact of 0.06 Ω
    (common practice, no source)."""
    found = site()
    (battery,) = standbys(found)
    figures = found.plan.supplies["S1"].device.part.figures
    ohm = figures["battery_ohm"].value + 0.1 / 10**1.2 + 0.06
    drop_v = figures["battery_v"].value - battery.course.volts[0]
    assert drop_v == pytest.approx(battery.course.amps[0] * ohm, rel=1e-3)


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


OWN = """
latchwork: 1
site: {{name: Oat barn, standby: {asked}}}
supplies: {{{supplies}}}
{more}
doors:
  D1:
    supply: {feeds}
    out by: lever
    lock: strike 12 V fail-secure
    diode: diode
    controller: controller
    runs: {{power: 1 m of 2 x 1.0 mm²}}
"""
TO_S1 = "wiring: [[S1.+, lead, B1.+], [S1.-, lead, B1.-]]"
OWN_BATTERY = {
    "a part": ("S1: supply 12 V", f"devices: {{B1: battery 12 V 7 Ah}}\n{TO_S1}", "S1"),
    "a supply": ("S1: supply 12 V, B1: battery 12 V 7 Ah", TO_S1, "S1"),
    "alone": ("B1: battery 12 V 7 Ah", "", "B1"),
}


@pytest.mark.parametrize("how", OWN_BATTERY)
def test_a_battery_that_is_a_part_of_its_own_has_its_hours_told_as_not_worked_out(how: str) -> None:
    """A controller of 1 W, idle, takes 1 / 12.9 = 0.0775 A: 7 Ah are 90 h at most, too few for
    100. A battery is no supply whose plus is to be parted from another's, and the supply that it
    is joined to has one (common practice, no source)."""
    supplies, more, feeds = OWN_BATTERY[how]

    def told(asked: str) -> dict[str, tuple[Severity, float]]:
        text = OWN.format(asked=asked, supplies=supplies, more=more, feeds=feeds)
        found = judge(behave(wire(plan(read_job_text(text, "job.yaml"), catalogue()))))
        standby = {"no-battery", "pluses-joined", "standby-unreckoned"}
        return {
            f"{f.rule} {f.subject}": (f.severity, round(float(f.figures.get("most_h", 0.0)), -1))
            for f in found
            if f.rule in standby
        }

    assert told("4 h") == {"standby-unreckoned B1": (Severity.NOTE, 90.0)}
    assert told("100 h") == {"standby-unreckoned B1": (Severity.FAILS, 90.0)}
    assert told("0 h") == {}


@pytest.mark.parametrize(("ah", "severity"), [("1.2 Ah", "FAILS"), ("7 Ah", "NOTE")])
def test_batteries_side_by_side_have_no_more_than_their_sum(ah: str, severity: str) -> None:
    """A magnet and its controller take some 0.33 A: 8 Ah in 24 h, of which two blocks of 1.2 Ah
    have 2.4 and two of 7 Ah have 14."""
    battery = f"{{part: battery 12 V {ah}, battery blocks: 2}}"
    text = job(
        MAGNET,
        site=", standby: 24 h",
        supplies=f'S1: "supply 24 V, no battery"\nB1: {battery}\nB2: {battery}',
        more="wiring: [[B1.+, lead, S1.+], [B1.-, lead, S1.-], [B2.+, lead, S1.+], "
        "[B2.-, lead, S1.-]]",
    )
    told = {f.subject: f.severity for f in findings(text) if f.rule == "standby-unreckoned"}
    assert told == dict.fromkeys(("B1", "B2"), Severity[severity])


@pytest.mark.parametrize(
    "state", ["battery dead", "battery fuse blown", "contact battery stuck open", "charger dead"]
)
def test_a_battery_that_was_found_to_carry_nothing_on_has_no_hours(state: str) -> None:
    """An open battery gives no current; one that nobody charges is flat when it is wanted (common
    practice, no source)."""
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah")
    text += f"found: [{{part: S1, state: {state}}}]\n"
    found = behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))
    assert standbys(found) == ()
    told = {f.rule: f.severity for f in judge(found) if f.subject == "S1"}
    assert told == {"no-battery": Severity.FAILS}


def test_a_battery_that_was_found_weak_lasts_as_long_as_a_small_one() -> None:
    """R = R1 / C^0.7 (common practice, no source): twice the resistance to the power of 0.7 is that
    of half the capacity. So 7 Ah found with 2^0.7 times their 27.51 mΩ are 3.5 Ah, which the cold
    takes 1.19 times less of (IEEE 485, from memory), and age nothing more."""
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah")
    state = "found: [{{part: S1, state: battery weak, resistance: {} ohm}}]\n"
    found = behave(
        wire(plan(read_job_text(text + state.format(0.02751 * 2**0.7), "job.yaml"), catalogue()))
    )
    (worn,), (sound,) = standbys(found), standbys(site())
    assert worn.usable_ah == pytest.approx(3.5 / 1.19, rel=1e-3)
    assert worn.new_holds_h == pytest.approx(sound.new_holds_h, rel=1e-3)
    by_hand = peukert_hours(worn.mean_a, worn.usable_ah)
    assert worn.holds_h == pytest.approx(by_hand, rel=0.06)
    assert worn.holds_h < by_hand

    def told(asked_h: float) -> list[tuple[str, Severity]]:
        job = text.replace("4 h", f"{asked_h:.2f} h") + state.format(0.02751 * 2**0.7)
        its = judge(behave(wire(plan(read_job_text(job, "job.yaml"), catalogue()))))
        return [(f.rule, f.severity) for f in its if f.rule in ("standby-short", "battery-weak")]

    assert told(worn.holds_h - 0.02) == [("battery-weak", Severity.WEAK)]
    assert told(worn.holds_h + 0.02) == [("standby-short", Severity.FAILS)]


def test_a_steady_leak_is_told_with_the_hours_it_costs() -> None:
    """By hand: 13.65 V over 100 Ω are 0.1365 A. Without it the battery lasts as long as in a job
    that has none."""
    text = JOB.format(ambient="10 to 30 °C", asked="2 h", ah="7 Ah")
    text += "found: [{leak: [S1.1, S1.-], resistance: 100 ohm}]\n"
    found = behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))
    (leak,) = (f for f in judge(found) if f.rule == "steady-leak")
    (leaking,), (sound,) = standbys(found), standbys(site())
    assert leak.figures["leak_a"] == pytest.approx(0.1365)
    assert leak.figures["holds_h"] == leaking.holds_h
    assert leak.figures["without_h"] == pytest.approx(sound.holds_h, rel=0.01)
    assert leaking.holds_h < 0.85 * sound.holds_h


def test_a_short_of_no_resistance_at_all_is_no_leak() -> None:
    """Volts over 0 Ω are no current that anything goes on with: the fuse blows."""
    text = JOB.format(ambient="10 to 30 °C", asked="2 h", ah="7 Ah")
    text += "found: [{short: [S1.1, S1.-], resistance: 0 ohm}]\n"
    assert "steady-leak" not in codes(behave(wire(plan(read_job_text(text, "j"), catalogue()))))


def test_a_leak_across_the_supplys_own_screws_costs_hours_too() -> None:
    """By hand: 10.5 to 12.9 V over 100 Ω are 0.105 to 0.129 A more, ahead of any fuse too."""
    text = JOB.format(ambient="10 to 30 °C", asked="2 h", ah="7 Ah")
    text = text.replace(", outputs: {1: {fuse: 2 A}}", "").replace("S1 out 1", "S1")

    def mean_a(more: str) -> float:
        (battery,) = standbys(
            behave(wire(plan(read_job_text(text + more, "job.yaml"), catalogue())))
        )
        return battery.mean_a

    leak = mean_a("found: [{leak: [S1.+, S1.-], resistance: 100 ohm}]\n")
    assert 0.105 < leak - mean_a("") < 0.129


def test_a_battery_whose_fuse_blows_has_no_hours() -> None:
    """By hand: some 13 V over the battery's 28 mΩ, its fuse and 0.01 Ω are hundreds of amperes,
    and no fuse of 10 A bears them."""
    text = JOB.format(ambient="10 to 30 °C", asked="2 h", ah="7 Ah")
    text = text.replace(", outputs: {1: {fuse: 2 A}}", "").replace("S1 out 1", "S1")
    short = "    found: [{short: [power brown, power blue], at: 0.1 m}]\n"
    found = behave(wire(plan(read_job_text(text + short, "job.yaml"), catalogue())))
    assert standbys(found) == ()
    told = {f.rule: f.severity for f in judge(found) if f.subject == "S1"}
    assert told["no-battery"] is Severity.FAILS
    assert "standby-short" not in told


def test_blocks_that_do_not_make_the_supplys_volts_are_told() -> None:
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah")
    two = text.replace("1 x 12 V", "2 x 12 V")

    def told(job: str) -> set[str]:
        return codes(behave(wire(plan(read_job_text(job, "job.yaml"), catalogue()))))

    assert "battery-volts" in told(two)
    assert "battery-volts" not in told(text)
    assert "battery-volts" not in told(text.replace("1 x 12 V 7 Ah", "2 x 6 V 12 Ah"))


@pytest.mark.parametrize(
    ("battery", "told"),
    [
        ("battery 12 V 7 Ah", True),
        ("{part: battery 12 V 7 Ah, battery blocks: 2}", False),
        ("{part: battery 6 V 12 Ah, battery blocks: 4}", False),
    ],
)
def test_a_battery_of_its_own_is_of_the_volts_of_what_it_lies_across(
    battery: str, told: bool
) -> None:
    """Six cells of 2 V on 24 V, and twelve (by hand)."""
    text = job(
        STRIKE,
        supplies=f"S1: supply 24 V\nB1: {battery}",
        more="wiring: [[B1.+, lead, S1.+], [B1.-, lead, S1.-]]",
    )
    found = [(f.rule, f.subject) for f in findings(text)]
    assert (("battery-volts", "B1") in found) is told


def test_a_door_on_two_supplies_has_its_hours_on_each() -> None:
    """The amp-hour method by hand: 24 Ω at 10.5 to 12.9 V take 0.44 to 0.54 A, for 24 h past the
    20 h rate 10.5 to 12.9 Ah, times 1.25 times 1.1."""
    _, magnet = standbys(two("24 h"))
    assert magnet.supply == "S2"
    assert not magnet.alone
    assert 10.5 / 24 < magnet.mean_a < 12.9 / 24
    assert magnet.plain is not None
    assert magnet.plain.needed_ah == pytest.approx(magnet.mean_a * 24 * 1.25 * 1.1)
    assert [loss.what for loss in magnet.losses] == ["cut off"]
    assert magnet.holds_h == pytest.approx(peukert_hours(magnet.mean_a, 7.0 / 1.25), rel=0.06)


def test_hours_without_the_margin_are_a_note() -> None:
    """By hand: the blocks of the power sheet are 1.10 times what age and cold ask for (IEEE 485,
    from memory). Asked for is what the battery just holds, and what it holds with a tenth to
    spare."""
    (battery,) = standbys(site())
    hours = battery.holds_h

    def told(asked_h: float) -> list[Severity]:
        return [
            f.severity
            for f in judge(site(asked=f"{asked_h:.2f} h"))
            if f.rule in ("standby-short", "standby-margin")
        ]

    assert told(hours - 0.02) == [Severity.NOTE]
    assert told(hours / 1.10**1.2 - 0.3) == []


def test_hours_held_against_the_cut_off_alone_are_told() -> None:
    def told(asked: str) -> set[tuple[str, str, Severity]]:
        rules = ("standby-short", "standby-by-cut-off")
        return {(f.rule, f.subject, f.severity) for f in judge(two(asked)) if f.rule in rules}

    by_cut_off = ("standby-by-cut-off", "S1", Severity.NOTE)
    assert told("24 h") == {by_cut_off, ("standby-short", "S2", Severity.FAILS)}
    assert told("4 h") == {by_cut_off, ("standby-by-cut-off", "S2", Severity.NOTE)}


def test_a_reader_behind_a_converter_takes_its_share_of_the_hours() -> None:
    """12 V * 0.07 A are 0.07 A more at a battery's own 12 V, whatever the converter stands in."""
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah")

    def mean_a(controller: str, reader: str) -> float:
        job = text.replace("controller: controller, reader outside", f"controller: {controller}")
        job = job.replace("reader: reader", f"reader: {reader}")
        (battery,) = standbys(behave(wire(plan(read_job_text(job, "job.yaml"), catalogue()))))
        return battery.mean_a

    own = '{part: "controller, reader outside", reader volts: 12 V}'
    plain, behind = mean_a('"controller, reader outside"', "reader"), mean_a(own, "reader")
    assert behind == pytest.approx(plain, rel=0.01)
    hungry = mean_a(own, '"reader, long range"')
    assert hungry - behind == pytest.approx(0.325 - 0.07, rel=0.06)


def test_a_door_that_is_granted_half_of_the_time_takes_half_of_what_a_grant_takes() -> None:
    """By hand: 360 grants an hour of 5 s are half an hour of it, 2000 are all of it. A grant takes
    0.25 A for the strike, and some for the relay of the controller."""

    def mean_a(grants: int | str, site: str = "") -> float:
        text = JOB.format(ambient="25 to 30 °C", asked="4 h", ah="7 Ah")
        for old, new in (
            ("{part: magnet 12 V, holds down to: 8 V}", "strike 12 V fail-secure"),
            ("power lost: unlocks", "power lost: stays locked"),
            ("nothing mechanical", "lever"),
            ("release: release, double pole", f"grants an hour: {grants}"),
            ("controller: controller, reader outside", f"controller: {CONTROLLER}"),
            ("site: {name", f"site: {{{site}name"),
        ):
            text = text.replace(old, new)
        (battery,) = standbys(behave(wire(plan(read_job_text(text, "job.yaml"), catalogue()))))
        return battery.mean_a

    whole = mean_a(2000) - mean_a(0)
    assert 0.25 * 0.9 < whole < 0.25 * 1.5
    half = mean_a(360)
    assert half - mean_a(0) == pytest.approx(whole / 2, rel=0.03)
    # Said of the site it is said of each of its doors that says nothing of its own.
    assert mean_a("unknown", "grants an hour: 360, ") == pytest.approx(half)


@pytest.mark.parametrize(
    ("lock", "lost", "coil_a"),
    [
        ("strike 12 V fail-secure", "stays locked", 0.25),
        # A magnet that the clock lets go draws nothing by day, and all it has by night.
        ("magnet 12 V", "unlocks", 0.0),
    ],
)
def test_a_door_that_the_clock_holds_unlocked_takes_its_strike_through_the_outage(
    lock: str, lost: str, coil_a: float
) -> None:
    """By hand: mains that fail in the morning leave the relay over, and 0.25 A in the strike at
    12 V, somewhat more at a full battery's volts, and the relay's own current."""

    def mean_a(held: str) -> float:
        text = JOB.format(ambient="25 to 30 °C", asked="4 h", ah="7 Ah")
        text = text.replace("{part: magnet 12 V, holds down to: 8 V}", lock)
        text = text.replace("power lost: unlocks", f"power lost: {lost}")
        text = text.replace("runs:", f"held unlocked: {held}\n    grants an hour: 0\n    runs:")
        (battery,) = standbys(behave(wire(plan(read_job_text(text, "job.yaml"), catalogue()))))
        return battery.mean_a

    assert coil_a * 0.9 <= mean_a("yes") - mean_a("no") <= coil_a * 1.5


def test_a_battery_with_half_its_charge_left_holds_half_as_long() -> None:
    """By hand: half the charge lasts half as long, somewhat less as it is the half of lower volts
    and the resistances on it draw less then (Ohm). A new battery comes with all of its charge."""
    full = standbys(site())[0]
    text = JOB.format(ambient="10 to 30 °C", asked="4 h", ah="7 Ah, battery charge left: 50 %")
    (half,) = standbys(behave(wire(plan(read_job_text(text, "job.yaml"), catalogue()))))
    assert half.usable_ah == pytest.approx(full.usable_ah / 2)
    assert half.holds_h == pytest.approx(full.holds_h / 2, rel=0.1)
    assert half.new_holds_h == pytest.approx(full.new_holds_h, rel=0.01)


def test_of_two_locks_the_one_that_holds_least_far_down_is_lost_first() -> None:
    """By hand: the second magnet surely holds down to 11.5 V and has some 0.3 V less than the
    supply; the first holds down to 8 V, below the battery's cut-off at 10.5 V. Magnets and cores
    are resistances: what is lost on the way goes with the volts (Ohm)."""

    def lost_v(holds: float) -> float:
        text = JOB.format(ambient="25 to 30 °C", asked="4 h", ah="7 Ah")
        second = f"    second lock: {{part: magnet 12 V, holds down to: {holds} V}}\n    out by:"
        text = text.replace("    out by:", second)
        (battery,) = standbys(behave(wire(plan(read_job_text(text, "job.yaml"), catalogue()))))
        first, last = battery.losses
        assert (first.device, first.what) == ("D1.second lock", "lets go")
        assert last.what == "cut off"
        return first.volts

    assert 11.5 < lost_v(11.5) < 12.0
    assert lost_v(11.5) / lost_v(11.4) == pytest.approx(11.5 / 11.4, rel=1e-3)
