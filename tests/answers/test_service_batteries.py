"""What the service plan tells of batteries, by hand."""

from __future__ import annotations

import pytest

from latchwork.answers.service import service_plan
from latchwork.answers.service_batteries import (
    BatteryLine,
    battery_finds,
    battery_lines,
    battery_notes,
    found_by,
)
from latchwork.behaviour import behave
from latchwork.faults import Ask, faults
from tests.truth.solved import wired

JOB = """
latchwork: 1
site: {ambient: 25 to 30 °C}
supplies: {S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    out by: lever
    lock: magnet 12 V
    controller: controller
"""
STRIKE = JOB.replace("magnet 12 V", "strike 12 V fail-secure, diode")
OWN = 'lock: {part: "strike 12 V fail-secure, diode", supply: S2}'


def line_of(job: str) -> BatteryLine:
    wiring = wired(job)
    ask = Ask(attacks=False, processes=1, fault="S1 supply dead")
    [line] = battery_lines(behave(wiring), faults(wiring, ask=ask))
    return line


def after_v(line: BatteryLine, ohm: float, ah: float) -> float:
    """Volts at the supply after the minutes, under a steady current: rested volts fall in a
    straight line as the charge goes, the faster the current is above that of 20 h (Peukert, 1.2;
    the parts' own volts of a cell, 2.15 full and 1.955 empty)."""
    peukert = float(max(line.amps_a / (ah / 20.0), 1.0) ** 0.2)
    depth = line.amps_a * line.minutes / 60.0 * peukert / ah
    return 6.0 * (2.15 - (2.15 - 1.955) * depth) - line.amps_a * ohm


def test_a_battery_under_its_own_load_by_hand() -> None:
    """A magnet of 24 Ω and a controller of 1 W, mains off: about 0.53 A and 0.08 A. A weak battery
    has ten times its resistance, and the capacity that goes with it: R = R1 / C^0.7."""
    line = line_of(JOB)
    assert line.amps_a == pytest.approx(12.8 / 24.0 + 1.0 / 12.8, rel=0.01)
    assert line.minutes == 10.0
    ohm = 6.0 * 0.0163 / 7.0**0.7
    assert line.new_v == pytest.approx(after_v(line, ohm, 7.0), abs=0.03)
    weak_v = after_v(line, 10.0 * ohm, 7.0 * 10.0 ** (-1.0 / 0.7))
    assert line.weak_v == pytest.approx(weak_v, abs=0.1)
    assert weak_v < line.least_v - 0.5 < line.new_v - 0.5


def test_what_hardly_loads_its_battery_is_told_to_be_in_no_test() -> None:
    """A controller of 1 W takes 0.08 A: of a battery of 38 Ah even a weak one has 1.4 Ah."""
    line = line_of(STRIKE.replace("7 Ah", "38 Ah"))
    assert (line.minutes, line.finds) == (0.0, ())
    assert battery_notes(line)[0].startswith("S1 battery weak is in no test")


@pytest.mark.parametrize("second", [", battery: 1 x 12 V 7 Ah", ""])
def test_what_another_battery_holds_up_is_in_no_test(second: str) -> None:
    """Two batteries on one plus have the same volts whatever one of them gives (Kirchhoff): under
    their doors' load the meter shows those of the better one. A supply beside it without a battery
    hides none."""
    job = JOB.replace("7 Ah}}", f"7 Ah}}, S2: {{part: supply 12 V{second}}}}}")
    wiring = wired(f"{job}wiring: [[S1.-, lead, S2.-], [S1.+, lead, S2.+]]\n")
    report = faults(wiring, ask=Ask(attacks=False, processes=1, fault="S1 supply dead"))
    line = battery_lines(behave(wiring), report)[0]
    told = battery_notes(line)[0]
    assert (line.beside, line.finds) == ((("S2",), ()) if second else ((), ("S1 battery weak",)))
    assert told.startswith("S1 battery weak is in no test: the battery of S2") == bool(second)


def test_a_dead_supply_is_told_with_the_hours_that_its_battery_hides_it() -> None:
    """A controller of 1 W on 7 Ah at 12 V in the mean: some 84 h when new. Then a strike that
    current frees opens no more, as without any power."""
    line = line_of(STRIKE)
    assert [(then.effect, then.doors) for then in line.then] == [("stops", ("D1",))]
    *_, note = battery_notes(line)
    assert f"hides it for {line.holds_h:.1f} h to {line.new_h:.1f} h, then stops at D1" in note
    assert line.new_h == pytest.approx(7.0 * 12.0 / 1.0, rel=0.1)
    told = line_of(STRIKE.replace("Ah}", "Ah, tells of its fault: yes}"))
    assert told.then == ()
    assert not any("hides" in note for note in battery_notes(told))


def test_what_the_battery_finds_is_in_no_test_of_a_door() -> None:
    """Nobody runs a battery to its end for what minutes tell: a magnet at the end of its cable
    lets go there if the battery is weak."""
    wiring = wired(JOB)
    report = faults(wiring, ask=Ask(attacks=False, processes=1, fault="S1 battery"))
    lines = battery_lines(behave(wiring), report)
    assert found_by(lines) == {"S1 battery weak"}
    plan = service_plan(wiring, report, elsewhere=found_by(lines))
    assert not any("S1 battery weak" in line.finds for line in plan)
    assert battery_finds(lines[0]).startswith("S1 battery weak: it then reads 1")


def test_what_takes_nothing_at_rest_is_told_no_hours() -> None:
    """A strike that current frees, on a supply of its own: with nobody about nothing flows, and a
    dead supply is found at a visit before that flattens its battery."""
    apart = STRIKE.replace("}\ndoors", ", S2: {part: supply 12 V, battery: 1 x 12 V 7 Ah}}\ndoors")
    apart = apart.replace("lock: strike 12 V fail-secure, diode", OWN)
    wiring = wired(apart)
    report = faults(wiring, ask=Ask(attacks=False, processes=1, fault="supply dead"))
    (line,) = (x for x in battery_lines(behave(wiring), report) if x.supply == "S2")
    assert (line.amps_a, line.minutes, line.finds) == (0.0, 0.0, ())
    untold, years = battery_notes(line)
    assert "Put a load tester across the battery" in untold
    assert "change it after 4 years" in years
    assert " h" not in years.replace("Ah", "")


def test_a_battery_that_was_found_weak_is_for_check_to_tell() -> None:
    found = JOB + "found: [{part: S1, state: battery weak}]\n"
    wiring = wired(found)
    ask = Ask(attacks=False, processes=1, fault="S1 supply dead")
    assert battery_lines(behave(wiring), faults(wiring, ask=ask)) == ()
