"""What nobody notices in daily use, on doors whose answer is plain from their wiring.

Common practice in the trade, no source, where none is named.
"""

from __future__ import annotations

from pathlib import Path

from latchwork.answers.faults import faults_job
from latchwork.answers.faults_model import FaultLine
from latchwork.answers.service import service_plan
from latchwork.behaviour import Mode, Power, behave
from latchwork.cli.faults_page import faults_page
from latchwork.faults import Ask, Consequence, Effect, Sight, faults, sights
from latchwork.rules import judge
from tests.outside.faulted import faulted
from tests.truth.solved import wired

ONE = Ask(attacks=False, processes=1)
SERIES = """
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller
    exit: {part: exit button, poles: 2}
    runs:
      power: 15 m of 2 x 1.0 mm²
      lock: 4 m of 2 x 1.0 mm²
      exit: 4 m of 6 x 0.22 mm²
    cables: {feed: 4 m of 2 x 0.75 mm²}
    joints: {J1: {}}
    wiring:
      exit:
        - [controller.EXIT, exit white, exit.NO1]
        - [controller.GND, exit brown, exit.COM1]
      lock:
        - [controller.+, lead, controller.COM]
        - [controller.NC, feed brown, exit.COM2]
        - [exit.NC2, feed blue, J1]
        - [J1, lock brown, lock.+]
        - [controller.-, lock blue, lock.-]
"""
"""The button asks the controller by one pole and breaks the magnet's plus by the other."""


def effects(job: str, door: str, ask: Ask = ONE) -> dict[str, Consequence]:
    return {c.fault: c for c in faults(wired(job), [door], ask).consequences}


def test_a_way_out_of_two_that_is_gone_shows_to_nobody() -> None:
    """With its second pole welded the button opens by the controller alone: at once as before, and
    for the relay time instead of as long as it is pressed. Nobody presses it longer than that."""
    site = wired(SERIES)
    report = faults(site, ["D1"], ONE)
    found = {c.fault: c for c in report.consequences}
    names = ("D1.exit contact NC2 welded", "D1.feed.brown D1.feed.blue short")
    for name in names:
        assert found[name].effect is Effect.SILENT
        assert found[name].situation == "mains/normal/exit request"
    # Without its own way to ask, the button breaks the feed as before: no lock does otherwise.
    assert "D1.exit.white open" not in found
    # Pressed past the relay time it tells.
    (line,) = (line for line in service_plan(site, report) if names[0] in line.finds)
    assert (line.situation, line.moment) == ("mains/normal/exit request", "held")
    assert line.expected_state == "unlocked"


def test_one_looks_at_a_lock_and_a_meter_at_the_moment_that_is_said() -> None:
    """With its second pole welded the button breaks nothing: as it is pressed the controller lets
    go of the magnet as ever, past the relay time that has the supply's volts again (Kirchhoff)."""
    welded = "D1.exit contact NC2 welded"
    ends = "D1.lock", "D1.lock.+", "D1.lock.-", (welded,)
    at = [Sight("D1", "mains/normal/exit request", held, *ends) for held in (False, True)]
    begins, late = sights(wired(SERIES), at)
    assert begins.here == late.here == frozenset((welded,))
    assert begins.by_lock == begins.by_meter == frozenset()
    assert late.by_lock == late.by_meter == frozenset((welded,))


def test_what_shows_past_the_relay_time_says_so(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(SERIES, encoding="utf-8")
    ask = Ask("NC2 welded", attacks=False, processes=1)
    answer, _ = faults_job(tmp_path, ["D1"], ask)
    line: FaultLine = answer.doors[0].faults[0]
    assert line.moment == "held"
    page = " ".join(faults_page(answer, "job", whole=True).split())
    assert "in mains/normal/exit request, past the relay time" in page


APART = """
latchwork: 1
supplies:
  S1: {part: supply 12 V, battery: 12 V 7 Ah}
  S2: {part: supply 24 V, battery: 2 x 12 V 7 Ah}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller
    exit: button
    runs: {power: 15 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
    cables: {feed: 15 m of 2 x 1.5 mm²}
    wiring:
      lock:
        - [S2.+, feed brown, controller.COM]
        - [controller.NC, lead, lock.+]
        - [S2.-, feed blue, lock.-]
"""
"""The controller's contact is dry: no wire joins the two supplies."""


def test_a_meter_on_another_supply_goes_across_the_lock() -> None:
    """Between a terminal of S2 and the minus of S1 a meter shows nothing, whatever the lock has.
    On two blocks at 25.7 to 26.1 V the magnet of 96 ohm behind 15 m of 1.5 mm² (0.36 ohm out and
    back) and half an ohm of contacts, fuse and battery has 25.4 to 26 V."""
    site = wired(APART)
    report = faults(site, ["D1"], ONE)
    lines = [line for line in service_plan(site, report) if "S2 battery dead" in line.finds]
    (line,) = lines
    assert (line.terminal, line.against) == ("D1.lock.+", "D1.lock.-")
    assert 25.3 < line.low_v < line.expected_v < line.high_v < 26.0
    joined = wired(
        APART.replace("        - [S2.-", "        - [S1.-, lead, S2.-]\n        - [S2.-")
    )
    (line,) = (
        line
        for line in service_plan(joined, faults(joined, ["D1"], ONE))
        if "D1.power.blue joint 10" in line.finds
    )
    # S1 and its controller may hang in another room.
    assert line.against == "S2.-"


def test_a_lock_on_another_supply_hangs_on_that() -> None:
    """No contact parts the magnet's minus core from S2: only where that is broken, and its plus
    core leads nowhere or to what gives nothing, does it hang on nothing."""
    report = faults(wired(APART), ["D1"], Ask("feed", attacks=False, processes=1, all_rows=True))
    hanging = {(w.fault, w.situation) for w in report.what_ifs if w.floating}
    assert {fault for fault, _ in hanging} == {"D1.feed.blue open"}
    situations = {situation for _, situation in hanging}
    assert {"all lost/normal/nobody", "mains/timed unlock/nobody"} <= situations
    assert "mains/normal/nobody" not in situations


KEYED = """
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    out by: lever
    outside: weather
    lock: strike 12 V fail-secure
    controller: controller
    key switch: key switch, outdoor
    runs: {power: 12 m of 2 x 1.0 mm², lock: 3 m of 2 x 0.75 mm²}
    cables: {key: 4 m of 2 x 0.75 mm²}
    wiring:
      exit:
        - [controller.+, key brown, key switch.COM]
        - [key switch.NO, key blue, controller.NO]
"""
"""A key for when the keypad fails: it puts the plus on the strike past the keypad."""


def test_a_key_beside_a_keypad_is_turned_and_nobody_turns_it_daily() -> None:
    site = wired(KEYED)
    report = faults(site, ["D1"], Ask(attacks=False, processes=1, all_rows=True))
    turned = "mains/normal/card or code (key switch)"
    rows = {w.fault: w for w in report.what_ifs if w.situation == turned}
    # With the keypad dead the key opens all the same, for as long as it is turned.
    assert (rows["D1.controller controller dead"].begins, rows["D1.key.blue open"].begins) == (
        "unlocked",
        "locked",
    )
    found = {c.fault: c for c in report.consequences}
    for name in ("D1.key.blue open", "D1.key switch stuck at rest"):
        assert (found[name].effect, found[name].also) == (Effect.STOPS, (Effect.SILENT,))
        assert found[name].situation == turned
        (line,) = (line for line in service_plan(site, report) if name in line.finds)
        assert line.do.startswith("Turn the key ")


def test_what_stops_the_exit_as_well_is_told_of_the_exit() -> None:
    """The key on the exit's own cores asks as the button does: a broken core stops both."""
    rows = KEYED[KEYED.index("    cables:") : KEYED.index("        - [key switch.NO")]
    job = KEYED.replace(rows, "    exit: button\n").replace(
        "        - [key switch.NO, key blue, controller.NO]\n", ""
    )
    job = job.replace("0.75 mm²}", "0.75 mm², exit: 3 m of 4 x 0.22 mm²}")
    assert effects(job, "D1")["D1.exit.white open"].situation == "mains/normal/exit request"


def test_a_visit_names_which_exit_device_to_use() -> None:
    site = wired(SERIES.replace("    runs:", "    second exit: button\n    runs:", 1))
    report = faults(site, ["D1"], ONE)
    name = "D1.exit contact NC2 welded"
    (line,) = (line for line in service_plan(site, report) if name in line.finds)
    # Its sound pole keeps the lock unfed while it is held, and for no longer: let go of, both lock.
    assert line.do == "Keep asking to leave on mains, by the exit, past the relay time"
    assert line.expected_state == "unlocked"


LEAVES = """
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    leaves: 2
    lock: magnet 12 V
    second lock: magnet 12 V
    controller: controller
    exit: button
    runs:
      power: 18 m of 2 x 1.0 mm²
      lock: 4 m of 2 x 1.0 mm²
      exit: 4 m of 4 x 0.22 mm²
"""


def test_a_leaf_whose_magnet_is_dead_gives_way() -> None:
    """A magnet to each leaf: with one coil open that leaf is pushed open, and nobody notices while
    the other holds. Two on one leaf hold the door by either."""
    for name in ("D1.lock coil open", "D1.second lock coil open"):
        found = effects(LEAVES, "D1")[name]
        assert (found.effect, found.also) == (Effect.OPENS, (Effect.SILENT,))
        assert effects(LEAVES.replace("    leaves: 2\n", ""), "D1")[name].effect is Effect.SILENT
    broken = LEAVES + "    found: [{part: second lock, state: coil open}]\n"
    site = behave(wired(broken))
    states = {(s.power, s.mode): s for s in site.states["D1"]}
    idle = states[Power.MAINS, Mode.NORMAL]
    assert (idle.enter_without_right.can, idle.enter_without_right.by) == (True, "one leaf")
    assert "not-locked" in {f.rule for f in judge(site)}
    # One leaf alone is no way out for all: the exit request has to let both go.
    assert (idle.leave.can, idle.leave.by) == (True, "exit")


def test_one_leaf_that_a_fire_alarm_frees_is_not_enough() -> None:
    """The fire contact breaks the feed of one magnet only: the other leaf stays shut."""
    half = LEAVES.replace("    leaves", "    fire alarm: unlocks\n    fire: fire relay\n    leaves")
    half += """    wiring:
      fire: [[controller.NC, lead, fire.COM]]
      lock:
        - [controller.+, lead, controller.COM]
        - [controller.NC, lock brown, lock.+]
        - [fire.NO, lead, second lock.+]
        - [controller.-, lock blue, lock.-]
        - [lock.-, lead, second lock.-]
"""
    found = {(f.rule, f.subject): f for f in judge(behave(wired(half)))}
    assert found["fire-alarm-stays-locked", "D1"].figures["how"] == "one leaf"


SHARED = """
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah}}
devices: {F1: fire relay}
usual:
  supply: S1
  power lost: unlocks
  fire alarm: unlocks
  out by: nothing mechanical
  lock: magnet 24 V
  controller: controller
  controller at: supply
  exit: button
  fire: F1
  runs: {lock: 13 m of 2 x 1.0 mm², exit: 13 m of 4 x 0.22 mm²}
doors: {D1: {}, D2: {}}
"""
"""One fire contact feeds both magnets."""


def test_what_shows_at_the_other_door_of_a_circuit_is_silent_at_neither() -> None:
    """The plus on D1's magnet goes backwards through its relay to the fire contact's far side and
    feeds D2 past it in a fire. D1 itself opens to nobody from that day on: that is noticed."""
    site, name = wired(SHARED), "D1.lock.brown to plus"
    whole = {(c.door, c.fault): c for c in faults(site, ask=ONE).consequences}
    assert whole["D1", name].effect is Effect.TRAPS
    beside = whole["D2", name]
    assert (beside.effect, beside.also) == (Effect.HOLDS, (Effect.SHOWS,))
    assert (beside.shows_in, beside.reading) == ((), None)
    # Asked for alone, D2 is told the same.
    assert effects(SHARED, "D2") == {f: c for (door, f), c in whole.items() if door == "D2"}
    # A fire relay that sticks shows at neither door.
    for door in ("D1", "D2"):
        assert Effect.SILENT in whole[door, "F1 relay stuck on"].also


BARE = """
latchwork: 1
supplies: {S1: {part: "supply 24 V%s", battery: 2 x 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    out by: lever
    lock: strike 24 V fail-secure
    exit: button
    runs: {lock: 13 m of 2 x 1.0 mm², exit: 13 m of 2 x 1.0 mm²}
"""


def test_a_battery_that_stays_cut_off_may_not_start_again() -> None:
    """A button in the strike's feed: nothing there has a lamp. Without its mains the supply leaves
    the battery off when it comes back flat; one that is reset by hand does so in any case."""

    def stays_off(part: str, fault: str) -> int:
        ask = Ask(fault, attacks=False, processes=1)
        return faults(wired(BARE % part), ask=ask).counts.not_restarting

    # The sound door is counted as well.
    assert stays_off("", "S1 supply dead") == 1
    assert stays_off("", "S1 battery fuse bridged") == 0
    assert stays_off(", reset by hand", "S1 battery fuse bridged") == 2


BAD_JOINT = """
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    out by: lever
    lock: "strike 12 V fail-secure, wide range"
    controller: controller
    runs: {power: 15 m of 2 x 1.0 mm²}
"""


def test_a_bad_joint_that_stops_a_lock_as_the_battery_ends_is_metered_on_mains() -> None:
    """By hand: the strike is 12 V / 0.22 A = 54.5 ohm, and 13.4 V arrive. With 10 ohm more ahead of
    it or behind it that are 13.4 V * 54.5 / 64.5 = 11.3 V across it: two volts off in daily use,
    whichever core has the joint, and both probes reach it at the lock. At the battery's end 8.6 V
    neither surely unlock it nor surely do not."""
    wiring = wired(BAD_JOINT)
    report = faults(wiring, ask=Ask("joint", attacks=False, processes=1))
    plan = service_plan(wiring, report)
    assert not [line.do for line in plan if line.situation.startswith(Power.BATTERY_END)]
    (line,) = (line for line in plan if "D1.controller.- to D1.lock.- joint 10" in line.finds)
    assert "D1.controller.NO to D1.lock.+ joint 10" in line.finds
    assert line.situation == "mains/normal/card or code"
    assert (line.terminal, line.against) == ("D1.lock.+", "D1.lock.-")
    assert 13.0 < line.low_v < 13.4 < line.high_v < 13.8


FELT = """
latchwork: 1
supplies: {S1: {part: "supply 24 V, 5 A", battery: 2 x 12 V 12 Ah}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 24 V, large
    controller: controller, reader outside
    controller at: supply
    exit: exit sensor, energised when idle
    release: release, double pole
    runs: {lock: 28 m of 2 x 1.5 mm², exit: 28 m of 4 x 0.22 mm², release: 28 m of 4 x 1.0 mm²}
  D2:
    supply: S1
    out by: lever
    lock: strike 24 V fail-secure, wide range
    controller: controller
    runs: {power: 36 m of 2 x 1.0 mm²}
"""


def test_a_screw_at_another_door_has_the_band_of_that_screw() -> None:
    """What D2 feels by their supply alone may be told by a meter at D1, of which D2's own circuit
    has no screw. By hand: the magnet's 0.3 A lose 0.16 V in each of two cores of 28 m of 1.0 mm²
    (19.5 ohm a km, IEC 60228) and 0.05 V in contacts ahead of that screw. Told was the supply's own
    band, from 26.97 to 27.59 V: what a sound door shows lay below it."""
    at = Sight("D2", "mains/normal/nobody", True, "", "D1.controller.COM", "S1.-")
    (seen,) = sights(wired(FELT), [at])
    assert 26.4 < seen.low_v < seen.volt_v < seen.high_v < 27.4
    assert 26.85 < seen.volt_v < 26.98


KEPT = """
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: lever
    lock: strike 12 V fail-safe
    controller: %s
    exit: button
    runs: {power: 10 m of 2 x 1.0 mm²}
"""


def test_no_test_rests_on_what_a_lock_may_do_and_may_not(tmp_path: Path) -> None:
    """By hand: 12.7 V of the battery, less 10 ohm times the 0.2 A of the strike (60 ohm) and the
    0.14 A of the keypad (1.7 W), are 9.3 V, between what surely lets go and what surely picks up
    (10.2 V, catalogue): the strike may lock as ever. On mains the same joint takes 3 V of 13.5 V
    from it, which a meter tells. One ohm takes less than half a volt: that nothing tells."""
    (tmp_path / "job.yaml").write_text(KEPT % "controller", encoding="utf-8")
    told, _ = faults_job(tmp_path, ask=ONE)
    (door,) = told.doors
    # A code cannot be kept there past the relay time: such a test would pass with all of them.
    assert not [n.do for n in door.service if "card or code" in n.situation and n.moment == "held"]
    (line,) = (n for n in door.service if "D1.power.blue joint 10" in n.finds)
    assert (line.lock, line.situation) == ("", "mains/normal/nobody")
    assert (line.terminal, line.against) == ("D1.lock.+", "D1.lock.-")
    (line,) = (n for n in door.service if "S1 battery dead" in n.finds)
    assert (line.situation, line.lock) == ("battery/normal/nobody", "D1.lock")
    assert "D1.power.blue joint 1 Ω" in door.untried
    page = " ".join(faults_page(told, str(tmp_path), whole=True).split())
    assert "in no test, as the lock may do as it should in spite of them" in page


SENSOR = """
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 12 V, small
    controller: controller
    exit: exit sensor, energised when idle
    release: release
    runs: {power: 20 m of 2 x 1.0 mm²}
"""


def test_what_a_test_finds_it_finds_in_the_worst_cases_too() -> None:
    """With ten ohm in its feed the magnet chatters on a fresh battery at nominal figures, and holds
    at the least and most volts: the lock alone would pass it. The fault laid over the wiring itself
    takes 10 ohm times 0.35 A from the magnet, in each case more than the band is wide."""
    wiring = wired(SENSOR)
    report = faults(wiring, ask=Ask(attacks=False, processes=1))
    name = "D1.power.blue joint 10"
    (line,) = (line for line in service_plan(wiring, report) if name in line.finds)
    assert (line.terminal, line.against) == ("D1.lock.+", "D1.lock.-")
    look = Sight("D1", line.situation, line.moment == "held", "D1.lock", "D1.lock.+", "D1.lock.-")
    (found,) = sights(faulted(wiring, report.faults[name]), [look])
    assert found.high_v < line.low_v < line.expected_v < line.high_v
