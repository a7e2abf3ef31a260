"""A supply that dies with a battery behind it: nobody knows until the battery is flat.

Common practice in the trade, no source, where none is named.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.answers.faults import faults_job
from latchwork.answers.service import ServiceLine, service_plan, untried
from latchwork.behaviour import Case, behave
from latchwork.cli.faults_page import faults_page
from latchwork.faults import Ask, Consequence, Effect, faults
from latchwork.faults.model import Fault, FaultKind, Why
from latchwork.faults.slow import told_once
from latchwork.parts import DEAD, DEAD_AND_FLAT, catalogue
from latchwork.power.loads import supply_loads
from latchwork.power.standby import standbys
from latchwork.remedies.against_faults import fault_remedies
from latchwork.remedies.scene import Scene
from tests.truth.solved import wired

ASK = Ask("supply dead", attacks=False, processes=1)
FAULT = "S1 supply dead with its battery flat"
SHUT_IN = """
latchwork: 1
supplies: {S1: {part: supply 24 V%s}}
doors:
  D1:
    supply: S1
    out by: nothing mechanical
    lock: strike 24 V fail-secure
    controller: controller
    controller at: door
    exit: button
    runs: {power: 20 m of 2 x 1.0 mm², exit: 5 m of 4 x 0.22 mm²}
"""
DARK = "mains/normal/exit request"
BATTERY = ", battery: 2 x 12 V 7 Ah"
SECOND = """
  D2:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller
    controller at: door
    exit: button
    runs: {power: 20 m of 2 x 1.0 mm², exit: 5 m of 4 x 0.22 mm²}
"""


def told(job: str, door: str = "D1") -> dict[str, Consequence]:
    return {c.fault: c for c in faults(wired(job), [door], ASK).consequences}


def test_a_dead_supply_traps_once_its_battery_is_flat() -> None:
    """No lever: the button asks a controller that is dark by then, mains on."""
    its = told(SHUT_IN % BATTERY)[FAULT]
    assert its.effect is Effect.TRAPS
    assert its.situation == DARK
    assert its.why.lost == ("D1.controller",)
    assert (its.why.sound_state, its.why.faulty_state) == ("unlocked", "locked")
    # Nobody notices until then, and everybody does then: only a meter tells it before.
    assert its.also.count(Effect.SILENT) == 1
    assert Effect.SHOWS not in its.also
    assert its.shows_in == ()
    assert told(SHUT_IN % BATTERY).keys() == {FAULT}
    # Without a battery it is the same at once, and everybody sees it.
    bare = told(SHUT_IN % "")["S1 supply dead"]
    assert bare.effect is Effect.TRAPS
    assert Effect.SILENT not in bare.also


def test_a_timed_supply_that_feeds_its_door_from_its_relay_alone_dies_as_slowly() -> None:
    """Its timer runs on the battery as well: the button frees the door until that is flat."""
    job = """
latchwork: 1
supplies: {S1: {part: timed supply 12 V, battery: 1 x 12 V 7 Ah}}
doors:
  D1: {supply: S1, lock: magnet 12 V, exit: button}
"""
    its = told(job)[FAULT]
    assert its.effect is Effect.OPENS
    assert Effect.SILENT in its.also


@pytest.mark.parametrize("charging", ["common", "separate"])
def test_a_dead_charger_comes_to_no_battery(charging: str) -> None:
    """Nobody notices for weeks; as the mains fail then, the door is what it is without power."""
    job = SHUT_IN % f"{BATTERY}, charging: {charging}"
    report = faults(wired(job), ask=Ask("S1 charger", attacks=False, processes=1))
    (its,) = report.consequences
    assert (its.effect, its.situation) == (Effect.TRAPS, "battery/normal/exit request")
    assert Effect.SILENT in its.also
    assert report.counts.unsolved == 0


@pytest.mark.parametrize(("charging", "told"), [("common", True), ("separate", False)])
def test_a_regulator_that_gives_less_than_the_battery_comes_to_no_battery(
    charging: str, told: bool
) -> None:
    """Of 27.3 V 0.85 times are 23.2 V, 1.93 V a cell: the battery feeds the doors until it has no
    more, and is flat then. A charging leg of its own is not the regulator's."""
    job = SHUT_IN % f"{BATTERY}, charging: {charging}"
    report = faults(wired(job), ask=Ask("S1 regulator low", attacks=False, processes=1))
    its = [(c.effect, c.situation, Effect.SILENT in c.also) for c in report.consequences]
    assert its == [(Effect.TRAPS, "battery/normal/exit request", True)] * told
    found = job.replace("doors:", "found: [{part: S1, state: regulator low}]\ndoors:")
    site = behave(wired(found))
    assert len(standbys(site)) == 1 - told
    assert supply_loads(site)[0].volts == pytest.approx(0.85 * 27.3)


def test_it_opens_a_magnet_and_stops_a_strike_with_a_lever() -> None:
    job = SHUT_IN % BATTERY + SECOND
    assert told(job, "D2")[FAULT].effect is Effect.OPENS
    lever = job.replace("out by: nothing mechanical", "out by: lever", 1)
    assert told(lever)[FAULT].effect is Effect.STOPS


LISTED = {
    f"{supply} {state}": Fault(f"{supply} {state}", FaultKind.STATE, (supply,), (), state)
    for supply in ("S1", "S2")
    for state in (DEAD, DEAD_AND_FLAT)
}
NO_REASON = Why("D1.lock", False, 24.0, 0.0, "unlocked", "locked", (), ())


def came(
    fault: str, effect: Effect, case: Case = Case.NOMINAL, situation: str = DARK
) -> Consequence:
    return Consequence(fault, "D1", effect, situation, (), NO_REASON, case)


FLAT = came(f"S1 {DEAD_AND_FLAT}", Effect.TRAPS)


@pytest.mark.parametrize(
    ("at_once", "told"),
    [
        # What a battery that is found dead does not put off is told once.
        (came(f"S1 {DEAD}", Effect.TRAPS), False),
        # Less at once, another supply, other figures: what comes later is another thing.
        (came(f"S1 {DEAD}", Effect.STOPS), True),
        (came(f"S2 {DEAD}", Effect.TRAPS), True),
        (came(f"S1 {DEAD}", Effect.TRAPS, Case.LEAST_VOLTS), True),
    ],
)
def test_what_it_does_at_once_is_not_told_again_as_slow(at_once: Consequence, told: bool) -> None:
    assert told_once((at_once, FLAT), LISTED) == ((at_once, FLAT) if told else (at_once,))


def test_that_a_dead_supply_does_not_come_back_after_an_outage_is_the_same_again() -> None:
    """Its battery goes flat, mains on or off: no outage is needed."""
    back = came(f"S1 {DEAD}", Effect.TRAPS, situation="power returns/normal/nobody")
    assert told_once((back, FLAT), LISTED) == (FLAT,)


def test_a_battery_of_its_own_fault_leaves_as_many_points() -> None:
    """One fault among the others: the one that the supply has without a battery, and this."""
    report = faults(wired(SHUT_IN % BATTERY), ask=ASK)
    assert report.listed == 2
    assert report.counts.points == 3 * 28  # the sound door is counted as well


def test_a_supply_that_dies_is_told_once() -> None:
    """Until its battery is flat a magnet is as on battery: that it does not lock after an outage
    either is nothing else. One whose battery was found dead opens at once."""
    job = SHUT_IN % BATTERY + SECOND
    assert told(job, "D2").keys() == {FAULT}
    assert told(SHUT_IN % f"{BATTERY}, tells of its fault: yes" + SECOND, "D2") == {}
    found = job.replace("doors:", "found: [{part: S1, state: battery dead}]\ndoors:")
    (at_once,) = told(found, "D2").values()
    assert (at_once.fault, at_once.effect) == ("S1 supply dead", Effect.OPENS)
    assert at_once.situation == "mains/normal/nobody"
    assert Effect.SILENT not in at_once.also


def test_the_page_tells_what_comes_later_apart_from_what_comes_at_once(tmp_path: Path) -> None:
    """Plus on minus at the supply leaves no hours, and the same contacts and volts."""
    job = tmp_path / "job.yaml"
    job.write_text(SHUT_IN % f"{BATTERY}, charging: separate", encoding="utf-8")
    answer, _ = faults_job(job, ask=Ask("S1", attacks=False, processes=1))
    lines = [line.strip() for line in faults_page(answer, "job", whole=True).splitlines()]
    assert {FAULT, "S1.+ + S1.- short"} <= set(lines)


def test_a_meter_on_mains_finds_it_once_for_all_doors() -> None:
    """On mains 12 cells float at 2.25 to 2.30 V (trade handbook, from memory); on the battery the
    same screws have 12 cells at rest, some 2.1 V each."""
    wiring = wired(SHUT_IN % BATTERY + SECOND)
    plan = service_plan(wiring, faults(wiring, ask=ASK))
    (line,) = (line for line in plan if FAULT in line.finds)
    assert isinstance(line, ServiceLine)
    assert (line.door, line.situation, line.lock) == ("D1", "mains/normal/nobody", "")
    assert (line.terminal, line.against) == ("S1.+", "S1.-")
    assert line.supply == ""  # nothing is switched off for it
    assert line.low_v == pytest.approx(12 * 2.25, abs=0.15)
    assert line.high_v == pytest.approx(12 * 2.30, abs=0.15)
    (its,) = (c for c in faults(wiring, ["D1"], ASK).consequences if c.fault == FAULT)
    assert its.reading is not None
    assert its.reading.faulty_v == pytest.approx(12 * 2.1, abs=0.6)


def test_no_test_rests_on_a_battery_that_has_what_its_supply_has() -> None:
    """By hand: of six cells at 2.2 V, as fresh ones have for days, a meter shows 13.2 V; floated at
    2.25 V a cell or more they have 13.5 V, less the half volt that is lost among lengths."""
    fresh = ", battery: 12 V 7 Ah, battery rested cell: 2.2 V"
    wiring = wired((SHUT_IN % fresh).replace("24 V", "12 V"))
    report = faults(wiring, ask=ASK)
    plan = service_plan(wiring, report)
    assert all(FAULT not in line.finds for line in plan)
    assert untried(report, plan) == {"D1": (FAULT,)}


def test_what_lives_on_its_battery_is_told_under_its_load() -> None:
    """By hand: 4 x 0.6 A behind 0.02 to 0.06 ohm take 0.05 to 0.15 V off the float of 13.5 V or
    more, and the same off 12.9 V at rest. Held against 12.9 V without its load, the half volt that
    is lost among lengths hid it."""
    lock = '{part: "magnet 12 V, large"}'
    fitted = f"lock: {lock}, second lock: {lock}, out by: lever, exit: button"
    doors = "".join(f"  D{n}: {{supply: S1, {fitted}}}\n" for n in (1, 2))
    supply = "{part: supply 12 V, battery: 12 V 17 Ah}"
    wiring = wired(f"latchwork: 1\nsupplies: {{S1: {supply}}}\ndoors:\n{doors}")
    report = faults(wiring, ask=ASK)
    plan = service_plan(wiring, report)
    assert [line.terminal for line in plan if FAULT in line.finds] == ["S1.+"]
    assert untried(report, plan) == {}


@pytest.mark.parametrize("screw", ["+", "1"])
def test_a_charger_that_dies_beside_a_battery_of_its_own_leaves_that_to_run_flat(
    screw: str,
) -> None:
    """By hand: six cells float at 13.65 V, and have some 12.9 V at rest, behind a fuse or not."""
    charger = "{part: supply 12 V, outputs: {1: {fuse: 3 A}}}" if screw == "1" else "supply 12 V"
    parts = f"supplies: {{S1: {charger}}}\ndevices: {{B1: battery 12 V 7 Ah}}\n"
    joined = f"wiring: [[S1.{screw}, lead, B1.+], [S1.-, lead, B1.-]]\n"
    job = SHUT_IN.partition("doors:")[2].replace("24 V", "12 V")
    found = told(f"latchwork: 1\n{parts}{joined}doors:{job}")
    assert found.keys() == {FAULT}
    assert (found[FAULT].effect, found[FAULT].situation) == (Effect.TRAPS, DARK)
    assert Effect.SILENT in found[FAULT].also
    reading = found[FAULT].reading
    assert reading is not None
    assert (reading.sound_v, reading.faulty_v) == pytest.approx((13.65, 12.9), abs=0.15)


def test_it_is_silent_at_each_of_two_doors_whose_circuits_meet() -> None:
    """Both magnets hang on one fire contact. What both do once the battery is flat shows at neither
    until then."""
    job = (SHUT_IN % BATTERY + SECOND).replace("doors:", "devices: {F1: fire relay}\ndoors:", 1)
    lock = "    lock: strike 24 V fail-secure\n"
    job = job.replace(lock, "    power lost: unlocks\n    lock: magnet 24 V\n", 1)
    job = job.replace("    exit: button\n", "    exit: button\n    fire: F1\n")
    job = job.replace("power: 20 m of 2 x", "power: 20 m of 3 x")
    found = {c.door: c for c in faults(wired(job), ask=ASK).consequences}
    assert {door: c.effect for door, c in found.items()} == dict.fromkeys(
        ("D1", "D2"), Effect.OPENS
    )
    assert all(Effect.SILENT in c.also for c in found.values())


@pytest.mark.parametrize(("gives", "flat"), [("27.3 V", False), ("24.0 V", True)])
def test_a_battery_on_the_plus_of_another_supply_does_not_run_flat(gives: str, flat: bool) -> None:
    """12 cells at rest have some 25.6 V: 27.3 V from beside feed them, and at the dead one's screws
    a meter reads 27.3 V as ever. 24.0 V let them give first."""
    beside = f"S2: {{part: supply 24 V, gives: {gives}}}}}\n"
    joined = "wiring: [[S1.+, lead, S2.+], [S1.-, lead, S2.-]]"
    job = (SHUT_IN % BATTERY).replace("}\ndoors:", f", {beside}{joined}\ndoors:")
    plan = service_plan(wired(job), faults(wired(job), ask=ASK))
    assert any(FAULT in line.finds for line in plan) is flat


def test_a_supply_that_tells_of_its_fault_is_seen_to_in_time() -> None:
    assert told(SHUT_IN % (BATTERY + ", tells of its fault: yes")) == {}


@pytest.mark.slow_oracle
def test_a_lever_or_a_supply_that_tells_of_it_is_a_remedy() -> None:
    job = SHUT_IN % BATTERY + SECOND
    scene = Scene(job, "job.yaml", catalogue(), behave(wired(job)))
    report = faults(scene.wiring, ["D2"], Ask(attacks=False, processes=1))
    opens = [r for r in fault_remedies(scene, report) if r.effect is Effect.OPENS]
    (tells,) = (r for r in opens if "tells of its fault: yes" in r.text)
    assert tells.faults == (FAULT,)
    shut_in = faults(scene.wiring, ["D1"], Ask(attacks=False, processes=1))
    traps = [r for r in fault_remedies(scene, shut_in) if r.effect is Effect.TRAPS]
    assert any(FAULT in r.faults and "out by: lever" in r.text for r in traps)
