"""Sizes against a hand formula, and against trying the next size below of every one."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner

from latchwork.answers.sizes import sizes_of
from latchwork.behaviour import Case
from latchwork.cli.command import latchwork
from latchwork.findings import Severity
from latchwork.job.changes import apply
from latchwork.parts import catalogue
from latchwork.remedies.scene import Scene
from latchwork.remedies.sizes import RUN, Size, every_size
from latchwork.remedies.sizing import Sizing, smallest_sizes
from latchwork.rules.lock_volts import worst_volts
from tests.rules.cases_electrical import BUTTON, TRANSFORMER
from tests.rules.jobs import MAGNET, STRIKE, but, job, outcome, told

CLASS_5_OHM_KM = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95}
"""Highest resistance at 20 °C by mm² (IEC 60228 class 5, from memory)."""
HOT = 1 + 0.00393 * 10
"""Copper at 30 °C, the hottest of these jobs (IEC 60028, from memory: 0.393 % a kelvin)."""
COIL_OHM = 24.0 / 0.5
HOLDS_V = 19.5
AT_SOURCE_V = (20.7, 21.0)
"""Where the supply cuts off (12 cells of 1.75 V), and that less what its battery, fuse and the
contacts ahead of the run may take: the answer must be the same for both ends."""


def sized(text: str) -> Sizing:
    return smallest_sizes(Scene(text, "job.yaml", catalogue(), outcome(text)))


def smallest(sizing: Sizing) -> dict[str, str]:
    return {f"{s.size.kind} {s.size.id}": s.smallest for s in sizing.sized}


def written(text: str, sizes: Mapping[Size, str]) -> str:
    """The text with these sizes in it."""
    for size, option in sizes.items():
        if option != size.now:
            for make in size.candidates[size.options.index(option)].makes:
                text, _ = apply(text, make(text))
    return text


def test_another_cable_has_not_what_was_measured_of_the_one_that_is_there() -> None:
    """Else the thinnest would do for every run whose loop was measured: 1.0 mm² of it."""
    run = "{length: 20 m, cable: 2 x 1.0 mm², loop resistance: measured 0.8 ohm}"
    text = job(but(STRIKE, {"runs": f"{{power: {run}}}"}))
    (size,) = (
        each
        for each in every_size(Scene(text, "job.yaml", catalogue(), outcome(text)))
        if each.kind == RUN
    )
    other = written(text, {size: "2 x 0.5 mm²"})
    assert "{length: 20 m, cable: 2 x 0.5 mm²}" in other
    assert written(text, {size: size.now}) == text


def lone_magnet(metres: int, now: str = "2 x 2.5 mm²") -> str:
    """A magnet at the end of one cable, its controller beside the supply; nobody is inside."""
    door = but(
        MAGNET,
        {
            **dict.fromkeys(("release", "fire", "fire alarm", "reader", "exit"), "-"),
            "lock": f"{{part: magnet 24 V, current: 0.5 A, holds down to: {HOLDS_V} V}}",
            "controller": "controller",
            "controller at": "supply",
            "escape direction": "none",
            "runs": f"{{lock: {metres} m of {now}}}",
        },
    )
    return job(door, supplies="S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah}")


def by_hand(metres: int, source_v: float) -> float:
    """V = V0 * R / (R + 2 L r)."""
    for area, ohm_km in CLASS_5_OHM_KM.items():
        loop_ohm = 2 * metres * ohm_km / 1000 * HOT
        if source_v * COIL_OHM / (COIL_OHM + loop_ohm) >= HOLDS_V:
            return area
    raise AssertionError("no size will do")


@pytest.mark.parametrize("metres", [30, 50, 70, 100, 145, 230])
@pytest.mark.parametrize("now", ["2 x 0.5 mm²", "2 x 2.5 mm²"])
def test_a_run_by_the_hand_formula(metres: int, now: str) -> None:
    ends = {by_hand(metres, source_v) for source_v in AT_SOURCE_V}
    assert len(ends) == 1
    (area,) = ends
    found = sized(lone_magnet(metres, now))
    assert smallest(found)["run D1.lock"] == f"2 x {'1.0' if area == 1.0 else area} mm²"
    assert told(found.text) == []


def test_no_size_cures_what_was_read_of_the_cores_that_are_there() -> None:
    """100 m of 1.5 mm² are 2.66 Ω there and back and enough (the hand formula). They read 1.6 Ω,
    and gave way to 2.5 mm², of which nobody has read anything."""
    read = "{cable: 2 x 1.5 mm², length: 100 m, loop resistance: measured 1.6 ohm}"
    assert by_hand(100, AT_SOURCE_V[0]) == 1.5
    found = sized(lone_magnet(100, "2 x 1.5 mm²").replace("100 m of 2 x 1.5 mm²", read))
    assert smallest(found)["run D1.lock"] == "2 x 1.5 mm²"
    assert "loop-resistance" in {f.rule for f in found.left}


def test_limits_by_plain_sums() -> None:
    """Three magnets of 0.25 A ± 5 % at 24 V take 0.30 A each at 27.6 V in the cold, controllers
    and readers near 0.14 A each at most: 1.32 A, with C/10 of 7 Ah 2.02 A, and 25 % over are
    2.5 A, so that 2 A is too little and 3 A will do. A strike alone takes 0.125 A, its controller
    0.06 A and its battery 0.7 A: 1.1 A with 25 % over."""
    assert smallest(sized(job(MAGNET, MAGNET, MAGNET)))["limit S1"] == "3.0 A"
    assert smallest(sized(job(STRIKE)))["limit S1"] == "2.0 A"


@pytest.mark.parametrize(
    ("part", "becomes"),
    [
        ("{part: supply 24 V, limit: 0.5 A", '{part: "supply 24 V, 2 A"'),
        ('{part: "supply 24 V, 10 A"', '{part: "supply 24 V, 2 A"'),
        ('{part: "supply 24 V, eight outputs"', '{part: "supply 24 V, eight outputs"'),
    ],
)
def test_a_limit_is_that_of_a_part_one_can_buy(part: str, becomes: str) -> None:
    """One orders by the part's name; eight outputs are not had for less than 10 A."""
    door = but(STRIKE, {"supply": "S1 out 1"}) if "outputs" in part else STRIKE
    supplies = f"S1: {part}, battery: 2 x 12 V 7 Ah}}"
    assert f"{becomes}, battery" in sized(job(door, supplies=supplies)).text


@pytest.mark.slow_oracle
def test_the_largest_that_is_not_enough_is_told() -> None:
    """Eight magnets of 0.25 A, all else and the charge are more than the timer's 3 A."""
    supplies = "S1: {part: timed supply 24 V, battery: 2 x 12 V 17 Ah}"
    found = sized(job(*[MAGNET] * 8, supplies=supplies))
    (limit,) = (one for one in found.sized if one.size.kind == "limit")
    assert limit.wants_more
    assert "supply-overload" in {f.rule for f in found.left}
    assert not any(one.wants_more for one in sized(job(STRIKE)).sized)


@pytest.mark.parametrize(
    "text",
    [
        job(MAGNET, STRIKE, but(MAGNET, {"runs": "{power: 60 m of 3 x 2.5 mm²}"})),
        job(but(STRIKE, {"runs": "{power: 90 m of 2 x 0.22 mm²}"}), MAGNET),
        job(but(MAGNET, {"runs": "{power: 150 ft of 3 x 14 AWG}"})),
        job(but(MAGNET, {"release": "-"}), MAGNET, site=", standby: 8 h"),
    ],
    ids=["mixed", "too thin", "gauges", "a finding that no size cures"],
)
def test_nothing_smaller_will_do_and_nothing_bigger_is_needed(text: str) -> None:
    """Every size one step down, all else as found, brings a finding that the sizes found do not
    have; and what is still found with them is found at the largest too."""
    found = sized(text)
    base = set(told(found.text))
    largest = {one.size: one.size.options[-1] for one in found.sized}
    assert base <= set(told(written(text, largest)))
    chosen = {one.size: one.smallest for one in found.sized}
    assert written(text, chosen) == found.text
    for one in found.sized:
        sizes = list(pairwise(one.size.options))
        below = next((a for a, b in sizes if b == one.smallest), None)
        if below is None:
            assert one.keeps_from is None
            continue
        assert one.keeps_from is not None
        smaller = written(text, {**chosen, one.size: below})
        assert set(told(smaller)) - base, (one.size.id, below)


def test_an_unknown_length_leaves_its_door_alone() -> None:
    text = job(but(STRIKE, {"runs": "{power: unknown of 2 x 2.5 mm²}"}), MAGNET)
    assert "run D1.power" not in smallest(sized(text))
    assert "run D2.power" in smallest(sized(text))


def test_a_row_that_names_a_core_keeps_its_colour() -> None:
    rows = (
        "{lock: [[controller.+, lead, controller.COM], [controller.NO, lock blue, lock.+], "
        "[controller.-, lock brown, lock.-], [lock.+, lead, diode.K], [lock.-, lead, diode.A]]}"
    )
    runs = "{power: 2 m of 2 x 1.0 mm², lock: 3 m of 2 x 1.0 mm²}"
    text = job(but(STRIKE, {"wiring": rows, "runs": runs}))
    found = smallest(sized(text))
    assert found["run D1.lock"] == "2 x 0.5 mm²"


def test_what_was_found_of_a_core_is_not_cured_by_another_order_of_colours() -> None:
    """Cores of 0.22 mm² begin with white and brown, of 0.5 mm² with brown and blue, and white comes
    fifth (IEC 60757 names colours, no order; the order is common practice, no source): the same
    words would be of two other cores."""
    swapped = but(MAGNET, {"found": "[{swapped: [reader white, reader brown]}]"})
    text = job(swapped)
    assert ("polarity", "D1.reader") in told(text)
    found = sized(text)
    assert smallest(found)["run D1.reader"] == "6 x 0.22 mm²"
    assert ("polarity", "D1.reader") in {(f.rule, f.subject) for f in found.left}


def test_the_changes_are_those_of_the_table() -> None:
    text = lone_magnet(30)
    found = sized(text)
    for change in found.changes:
        text, _ = apply(text, change)
    assert text == found.text
    supply = {f"supplies.S1.{word}" for word in ("part", "limit", "battery")}
    assert {c.path for c in found.changes} <= {"doors.D1.runs.lock", *supply}
    again = sized(found.text)
    assert again.changes == ()


def test_sizes_written_otherwise_are_known() -> None:
    text = job(STRIKE).replace("2 x 1.0 mm²", "2x1 mm2")
    (run,) = (s.size for s in sized(text).sized if s.size.kind == "run")
    assert run.now == "2 x 1.0 mm²"


def test_a_transformer_is_sized_by_its_volt_amperes() -> None:
    """A coil of 11 Ω on a transformer that gives 15 V unloaded and 12 V at 8 VA: R = 3 V / 0.667 A
    = 4.5 Ω, so 15 V * 11 / 15.5 = 10.6 V before any cable; 10.2 V are wanted. At 12 VA it takes
    14.1 V / (11 Ω + 2.1 Ω) = 1.08 A, more than 12 VA / 12 V; 16 VA carry 1.33 A."""
    strong = but(BUTTON, {"lock": "{part: strike 12 V AC fail-secure, impedance: 11 ohm}"})
    sizing = sized(job(strong, supplies="S1: {part: transformer 12 V AC, rating: 40 VA}"))
    found = {s.size.id: s for s in sizing.sized}["S1"]
    assert (found.size.now, found.smallest) == ("40 VA", "16 VA")
    assert told(sizing.text) == []
    for rating in (8, 12):
        below = sizing.text.replace("rating: 16 VA", f"rating: {rating} VA")
        assert ("transformer-overload", "S1") in told(below)
    # Where only the part's name stands, there is room for a rating as well.
    plain = sized(job(BUTTON, BUTTON, supplies=TRANSFORMER))
    assert "{part: transformer 12 V AC, rating: 24 VA}" in plain.text


def test_no_run_is_made_thicker_to_let_another_be_thinner() -> None:
    """In a job with nothing to cure every run stays or gets thinner."""
    runs = "{lock: 6 m of 2 x 1.0 mm², exit: 3 m of 2 x 1.0 mm²}"
    clean = job(but(BUTTON, {"runs": runs}), supplies=TRANSFORMER)
    assert told(clean) == []
    sizing = sized(clean)
    for one in (s for s in sizing.sized if s.size.kind == "run"):
        options = one.size.options
        assert options.index(one.smallest) <= options.index(one.size.now), one.size.id
    assert told(sizing.text) == []


def test_each_of_two_supplies_of_a_door_is_as_large_as_its_own_load_asks() -> None:
    """A transformer feeds two strikes, one of them through a controller on a supply of its own.

    By hand: a strike of 0.387 A at 12 V takes 0.48 A at 13.65 V and 8 % more, two controllers of
    2.6 W 0.19 A each, a battery of 2.1 Ah a tenth of that: 1.07 A, times 1.25 is 1.33 A. That the
    transformer must be larger for its own strikes says nothing of the supply."""
    ac = but(
        STRIKE,
        {"lock": "strike 12 V AC fail-secure", "diode": "-", "controller": "none", "exit": "button",
         "runs": "{lock: 12 m of 2 x 0.75 mm², exit: 9 m of 2 x 0.75 mm²}"},
    )  # fmt: skip
    both = but(
        ac,
        {"supply": "S2", "controller": "controller", "exit": "-",
         "runs": "{power: 9 m of 2 x 0.75 mm², lock: 3 m of 2 x 0.75 mm²}",
         "wiring": "{lock: [[S1.A1, lead, controller.COM], [controller.NO, lock brown, lock.A1],"
         " [lock.A2, lock blue, S1.A2]]}"},
    )  # fmt: skip
    own = but(
        STRIKE,
        {"supply": "S2", "lock": "strike 12 V AC/DC fail-secure", "diode": "-",
         "varistor": "varistor", "runs": "{power: 9 m of 2 x 0.75 mm²}"},
    )  # fmt: skip
    supplies = "S1: transformer 12 V AC\nS2: {part: 'supply 12 V, 1 A', battery: 1 x 12 V 2.1 Ah}"
    found = sized(job(ac, both, own, supplies=supplies))
    (limit,) = (s for s in found.sized if (s.size.kind, s.size.id) == ("limit", "S2"))
    assert limit.smallest == "2.0 A"
    assert limit.keeps_from is not None
    assert (limit.keeps_from.rule, limit.keeps_from.subject) == ("supply-overload", "S2")


def far_strike(metres: int, lock: str) -> str:
    door = but(STRIKE, {"lock": lock, "runs": f"{{power: {metres} m of 2 x 1.0 mm²}}"})
    return job(door, supplies="S1: {part: supply 12 V, limit: 3 A, battery: 12 V 7 Ah}")


def test_no_cores_are_bought_where_the_door_fails_all_the_same() -> None:
    """By hand: at the battery's end of 10.5 V a strike that needs 10.2 V may lose 0.3 V. Over 100 m
    of 4 mm² (4.95 ohm/km, hot 5.1) 0.25 A and a controller's 0.06 A lose 0.32 V: no cores cure it.
    That the controller restarts over 1.0 mm² and not over 2.5 is no reason to buy them; where the
    strike needs less, it is."""
    assert 10.5 - 200 * 0.00495 * HOT * (0.25 + 0.06) < 10.2
    vain = sized(far_strike(100, "strike 12 V fail-secure"))
    assert {("volts-low", "D1.lock"), ("restarts", "D1.controller")} <= {
        (f.rule, f.subject) for f in vain.left
    }
    assert smallest(vain)["run D1.power"] == "2 x 1.0 mm²"
    worth = sized(far_strike(100, "strike 12 V fail-secure, wide range"))
    assert smallest(worth)["run D1.power"] == "2 x 2.5 mm²"
    assert worth.left == ()


def test_what_a_larger_battery_cures_by_millivolts_is_told_as_such(tmp_path: Path) -> None:
    """Some milliohms less in a larger battery, at half an ampere, are millivolts at the lock: a
    hand meter is good to half a percent (common practice, no source), 0.1 V of 20 V."""
    text = lone_magnet(50)
    small = text.replace("17 Ah", "7 Ah")
    never = outcome(small.replace(f"{HOLDS_V} V", "23 V"))
    least = never.outcomes["D1"][Case.LEAST_VOLTS]
    volts = worst_volts(least.locks[0], least)
    assert volts is not None
    need_v = round(volts[0] + 0.002, 4)
    (tmp_path / "job.yaml").write_text(text.replace(f"{HOLDS_V} V", f"{need_v} V"))
    answer, _ = sizes_of(tmp_path)
    (battery,) = (s for s in answer.sizes if s.kind == "battery")
    assert battery.smallest != "7 Ah"
    assert "at the lock" in battery.keeps_from
    assert battery.short_v == pytest.approx(need_v - volts[0], abs=1e-3)
    page = CliRunner().invoke(latchwork, ["sizes", str(tmp_path)]).output
    assert " ".join(page.split()).count("fewer volts than a meter tells") == 1
    run = next(s for s in answer.sizes if s.id == "D1.lock")
    assert run.short_v is None


@pytest.mark.parametrize(("metres", "area"), [(20, "0.75"), (80, "4"), (130, "2.5")])
def test_no_cores_are_so_thin_that_a_magnet_lacks_pull(metres: int, area: str) -> None:
    """By hand: at the end of a battery of 21.0 V a magnet of 0.5 A at 24 V, 48 Ω, rated from
    20.4 V, may have 1.41 Ω before it. Over 20 m hot 0.75 mm² is 1.08 Ω and 0.5 mm² 1.62 Ω. Over
    80 m 4 mm² is 0.82 Ω and 2.5 mm² 1.33 Ω, to which the battery's, the fuse's and the contacts'
    come. Over 130 m 4 mm² is 1.34 Ω: nothing is enough, and what the job has is not made worse."""
    text = lone_magnet(metres).replace(f", holds down to: {HOLDS_V} V", "")
    found = sized(text)
    assert smallest(found)["run D1.lock"] == f"2 x {area} mm²"
    assert {f.rule for f in found.left} == ({"pull-low"} if metres == 130 else set())


@pytest.mark.parametrize(("hours", "block"), [(8, "7 Ah"), (11, "12 Ah")])
def test_a_battery_has_the_margin_of_the_power_sheet(hours: int, block: str) -> None:
    """The amp-hour method by hand: 0.353 A over 11 h are 20 h x 0.353 A x (11 / 20) ^ (1 / 1.2) =
    4.29 Ah (Peukert), times 1.25 for age and 1.288 for 5 °C 6.9 Ah, times the margin of 1.10 7.6 Ah
    (IEEE 485, from memory); over 8 h 5.8 Ah."""
    text = job(MAGNET, site=f", standby: {hours} h")
    found = sized(text)
    assert smallest(found)["battery S1"] == block
    short = {("standby-margin", "S1")} if block != "7 Ah" else set()
    assert set(told(text, Severity.NOTE)) == short
    assert told(found.text, Severity.NOTE) == []
