"""Silent faults that a second one brings to light."""

from __future__ import annotations

from dataclasses import replace

from msgspec.structs import replace as put

from latchwork.answers.service import service_plan, untried
from latchwork.behaviour import Case, LockState, behave
from latchwork.behaviour.network import Things
from latchwork.faults import Ask, Effect, PairReport, Shown, faults
from latchwork.faults.company import Look, twins
from latchwork.faults.model import Fault, FaultKind
from tests.faults.known import jobs
from tests.faults.test_silent import SERIES
from tests.truth.solved import wired

MAGNET = next(iter(jobs().values()))


def paired(budget: int, fault: str = "") -> PairReport:
    report = faults(wired(MAGNET), ask=Ask(fault, attacks=False, pairs=budget, processes=1))
    assert report.pairs is not None
    return report.pairs


def test_a_release_that_does_not_move_shows_when_the_exit_fails() -> None:
    """Common practice, no source: nobody pulls the release until the button is dead."""
    found = {(p.silent, p.second): p.effect for p in paired(3000).pairs}
    assert found["D1.release stuck at rest", "D1.exit stuck at rest"] is Effect.TRAPS
    assert found["D1.release stuck at rest", "D1.controller relay stuck off"] is Effect.TRAPS


def test_each_pole_of_a_release_stands_in_for_the_other() -> None:
    """One pole welded does nothing; both are a release that does not work (common practice, no
    source)."""
    pairs = paired(10**6, "release contact NC").pairs
    effects = {frozenset((p.silent, p.second)): p.effect for p in pairs}
    both = frozenset(f"D1.release contact NC{pole} welded" for pole in (1, 2))
    assert effects[both] is Effect.RELEASE
    found = faults(wired(MAGNET), ask=Ask("release contact NC1 welded", attacks=False))
    assert found.consequences == ()


def test_each_pole_of_a_release_has_a_test_of_its_own() -> None:
    """With the release operated both cores of the magnet are broken: a meter shows nothing at
    either. Over a welded pole it shows the supply's volts, at its plus core against minus, or at
    its minus core against plus (Kirchhoff; the supply floats at 27.3 V, catalogue)."""
    wiring = wired(MAGNET)
    report = faults(wiring, ask=Ask(attacks=False, poles=True, processes=1))
    assert report.pairs is not None
    (pair,) = report.pairs.pairs
    assert (pair.effect, pair.situation) == (Effect.RELEASE, "mains/normal/emergency release")
    names = [f"D1.release contact NC{pole} welded" for pole in (1, 2)]
    assert [pair.silent, pair.second] == names
    readings = pair.reading, pair.second_reading
    for reading, ends in zip(readings, (("lock.+", "S1.-"), ("lock.-", "S1.1")), strict=True):
        assert reading is not None
        assert (reading.terminal, reading.against) == (f"D1.{ends[0]}", ends[1])
        assert reading.sound_v == 0.0
        assert abs(abs(reading.faulty_v) - 27.3) < 0.1
    plan = {f: line for line in service_plan(wiring, report) for f in line.finds}
    assert [plan[name].situation for name in names] == ["mains/normal/emergency release"] * 2
    assert [plan[name].nothing_v for name in names] == [0.5, 0.5]


NEXT_DOOR = """\
latchwork: 1
supplies: {S1: {part: supply 12 V, outputs: {1: {fuse: 3.15 A}}}}
usual:
  supply: S1 out 1
  lock: magnet 12 V
  controller: controller
  controller at: supply
  fire alarm: unlocks
  runs: {lock: 10 m of 2 x 1.5 mm²}
doors:
  D1: {fire: "fire relay, double pole"}
  D2:
    wiring:
      lock:
        - [D1.fire.NO1, lead, controller.COM]
        - [controller.NC, lock brown, lock.+]
        - [D1.fire.NO2, lock blue, lock.-]
"""


def test_poles_are_paired_at_every_door_that_hangs_on_them() -> None:
    """Both welded contacts keep plus and minus of either magnet joined in an alarm, whichever door
    the relay is written down at (Kirchhoff); in an alarm nothing else lets out there."""
    report = faults(wired(NEXT_DOOR), ask=Ask(attacks=False, poles=True, processes=1))
    assert report.pairs is not None
    poles = [f"D1.fire contact NO{pole} welded" for pole in (1, 2)]
    told = {p.door: (p.silent, p.second, p.effect) for p in report.pairs.pairs}
    assert told == dict.fromkeys(("D1", "D2"), (*poles, Effect.TRAPS))


def test_poles_are_paired_at_each_of_doors_run_side_by_side() -> None:
    """Two doors alike have the same pair each, with a meter at their own magnets."""
    bare = MAGNET.replace(", outputs: {1: {fuse: 1.0 A}}", "").replace("S1 out 1", "S1")
    report = faults(
        wired(f"{bare}  D2:{bare.partition('  D1:')[2]}"),
        ask=Ask("release contact NC", attacks=False, poles=True, processes=1),
    )
    assert report.pairs is not None
    assert [pair.door for pair in report.pairs.pairs] == ["D1", "D2"]
    for pair in report.pairs.pairs:
        names = tuple(f"{pair.door}.release contact NC{pole} welded" for pole in (1, 2))
        assert (pair.silent, pair.second) == names
        assert (pair.effect, pair.situation) == (Effect.RELEASE, "mains/normal/emergency release")
        assert pair.reading is not None
        assert pair.reading.terminal == f"{pair.door}.lock.+"


IN_A_ROW = """\
latchwork: 1
supplies: {S1: {part: supply 24 V}}
devices: {F1: fire relay, F2: fire relay}
doors:
  D1:
    supply: S1
    power lost: unlocks
    fire alarm: unlocks
    out by: lever
    lock: magnet 24 V
    wiring:
      lock:
        - [S1.+, lead, F1.COM]
        - [F1.NO, lead, F2.COM]
        - [F2.NO, lead, lock.+]
        - [S1.-, lead, lock.-]
"""


def test_relays_of_the_panel_one_after_the_other_stand_in_for_each_other() -> None:
    """Either opens the feed in an alarm, and nothing else does: one that sticks shows when both do.
    In an alarm the wire between them has 27.3 V only past the first one's bad contact. Of the
    second one both screws have nothing, good or bad (Kirchhoff): no test finds it, and that is
    said."""
    wiring = wired(IN_A_ROW)
    report = faults(wiring, ask=Ask(attacks=False, poles=True, processes=1))
    assert report.pairs is not None
    told = {frozenset((p.silent, p.second)): p.effect for p in report.pairs.pairs}
    ways = ("contact NO welded", "relay stuck on")
    assert told == {
        frozenset((f"F1 {one}", f"F2 {other}")): Effect.TRAPS for one in ways for other in ways
    }
    plan = service_plan(wiring, report)
    (line,) = (line for line in plan if line.situation == "mains/fire alarm/nobody")
    assert line.finds == tuple(f"F1 {way}" for way in ways)
    assert (line.terminal, line.against, line.nothing_v) == ("F1.NO", "S1.-", 0.5)
    assert set(untried(report, plan)["D1"]) == {f"F2 {way}" for way in ways}


ACROSS_DOORS = """\
latchwork: 1
supplies: {S1: {part: supply 24 V}}
usual: {supply: S1, power lost: unlocks, fire alarm: unlocks, out by: lever, lock: magnet 24 V}
doors:
  D1:
    fire: fire relay
    wiring:
      lock: [[D2.fire.NO, lead, fire.COM], [fire.NO, lead, lock.+], [S1.-, lead, lock.-]]
  D2:
    fire: fire relay
    wiring:
      lock: [[S1.+, lead, fire.COM], [D1.fire.NO, lead, lock.+], [S1.-, lead, lock.-]]
  D3:
    wiring:
      lock: [[D1.fire.NO, lead, lock.+], [S1.-, lead, lock.-]]
"""


def test_relays_of_the_panel_that_are_written_down_at_two_doors_are_paired() -> None:
    """By hand: all three magnets hang behind both relays, so that either lets go of all of them in
    an alarm, and with both welded none of them lets go; nothing else lets people out. Nobody
    notices one, at whichever door it is written down."""
    only = frozenset(f"{door}.fire contact NO welded" for door in ("D1", "D2"))
    ask = Ask(attacks=False, poles=True, processes=1, only=only)
    report = faults(wired(ACROSS_DOORS), ask=ask)
    assert report.consequences == ()
    assert report.pairs is not None
    told = {p.door: (frozenset((p.silent, p.second)), p.effect) for p in report.pairs.pairs}
    assert told == dict.fromkeys(("D1", "D2", "D3"), (only, Effect.TRAPS))
    assert len(report.pairs.pairs) == 3


LEVER = """\
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah, outputs: {1: {fuse: 1 A}}}}
doors:
  D1:
    supply: S1 out 1
    out by: lever
    fire alarm: unlocks
    lock: strike 24 V fail-safe
    controller: controller
    fire: fire relay
    release: release, double pole
    runs: {power: 5 m of 2 x 1.0 mm², lock: 5 m of 2 x 1.0 mm², release: 5 m of 4 x 1.5 mm²}
"""


def test_a_pair_is_told_where_it_does_what_neither_does_alone() -> None:
    """Plus put on the lock's core past every contact keeps the strike locked in a fire; with the
    pole in its minus welded too it stays locked when the release is pulled: that is what is new,
    and it is told of the release, not of the fire (common practice, no source)."""
    past, pole = "D1.lock.brown to plus", "D1.release contact NC2 welded"
    ask = Ask(attacks=False, pairs=1, processes=1, only=frozenset((past, pole)))
    report = faults(wired(LEVER), ask=ask)
    assert [(c.fault, c.effect) for c in report.consequences] == [(past, Effect.HOLDS)]
    assert report.pairs is not None
    (pair,) = report.pairs.pairs
    assert (pair.silent, pair.second) == (pole, past)
    told = pair.effect, pair.situation
    assert told == (Effect.RELEASE, "mains/normal/emergency release")


HELD_UP = """\
latchwork: 1
supplies: {S1: {part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller, reader outside
    controller at: supply
    reader: reader
    exit: button
    release: release
    runs: {lock: 20 m of 2 x 1.5 mm², reader: 20 m of 6 x 0.5 mm², release: 20 m of 2 x 1.5 mm²}
"""


def test_what_does_its_harm_in_an_outage_waits_for_a_second_fault_before_that() -> None:
    """By hand: shorted, 20 m of 0.5 mm² out and back are some 1.5 ohm (39 ohm a km, IEC 60228). A
    battery holds the supply up; the supply alone is at its limit, 3 A, and 4.5 V are left: too few
    for the controller, and more than a tenth of what the magnet is made for. Nobody notices a dead
    battery before that; that the door opens in an outage is no news to anybody till then."""
    dead, short = "S1 battery dead", "D1.reader.brown D1.reader.blue short"
    ask = Ask(attacks=False, pairs=1, processes=1, only=frozenset((dead, short)))
    report = faults(wired(HELD_UP), ask=ask)
    alone = {c.fault: (c.effect, *c.also) for c in report.consequences}
    assert alone[dead] == (Effect.OPENS, Effect.SILENT)
    assert Effect.BLOCKS not in alone[short]
    assert report.pairs is not None
    (pair,) = report.pairs.pairs
    assert (pair.silent, pair.second, pair.effect) == (dead, short, Effect.BLOCKS)


def test_what_somebody_notices_does_not_wait_for_a_second_fault() -> None:
    """Whoever notices a fault has it mended; what may be gone then stands beside (the glossary's
    silent fault). What takes the way out by itself is told as that."""
    for effect in (Effect.SHOWS, Effect.HOLDS):
        assert not Look({effect: ""}, daily=True).waits
    assert Look({Effect.HOLDS: ""}, daily=False).waits
    assert Look({Effect.OPENS: ""}, daily=False).waits
    assert not Look({Effect.BLOCKS: ""}, daily=False).waits


def test_what_shows_at_the_door_beside_does_not_wait_for_a_second_fault() -> None:
    """Whoever notices a fault has it mended (the glossary's silent fault), at whichever door: a
    core of D1's magnet on plus holds that for ever, and everybody who asks to leave there notices.
    That the minus core of D2's magnet is past its pole of the fire relay shows to nobody."""
    seen, quiet = "D1.lock.brown to plus", "D2.lock.blue to minus"
    job = NEXT_DOOR.replace("controller: controller\n", "controller: controller\n  exit: button\n")
    ask = Ask(attacks=False, pairs=10, processes=1, only=frozenset((seen, quiet)))
    report = faults(wired(job), ["D2"], ask=ask)
    assert report.pairs is not None
    (pair,) = report.pairs.pairs
    assert (pair.silent, pair.second, pair.effect) == (quiet, seen, Effect.HOLDS)
    assert not pair.both


def test_contacts_that_move_the_other_way_are_no_twins() -> None:
    """Of a relay's two changeovers the two that open stand in for each other where both are wired,
    and so do the two that close; one that opens and one that closes never do."""
    states = [f"contact {one}{n} welded" for n in (1, 2) for one in ("NC", "NO")]
    faults_of_it = [Fault(s, FaultKind.STATE, ("R1",), (), state=s) for s in states]
    its = twins(faults_of_it, Things((), (), (), ""))
    pairs = [(faults_of_it[a].id, faults_of_it[b].id) for a, b in its]
    assert sorted(pairs) == [(states[0], states[2]), (states[1], states[3])]


def test_pairs_are_budgeted_and_counted_apart() -> None:
    small, large = paired(50), paired(200)
    assert (small.run, large.run) == (50, 200)
    assert small.of == large.of > 200
    assert set(small.pairs) <= set(large.pairs)
    singles = faults(wired(MAGNET), ask=Ask(attacks=False)).listed
    assert small.counts.points == 28 * (singles + 50)
    assert small.counts.points == small.counts.solved + small.counts.unsolved


def test_nothing_is_paired_with_itself_or_the_same_place() -> None:
    for pair in paired(3000).pairs:
        assert pair.silent != pair.second


def test_a_service_plan_finds_every_silent_fault() -> None:
    wiring = wired(MAGNET)
    report = faults(wiring, ask=Ask(attacks=False, processes=1))
    silent = {c.fault for c in report.consequences if Effect.SILENT in (c.effect, *c.also)}
    plan = service_plan(wiring, report)
    assert silent
    assert {f for line in plan for f in line.finds} == silent
    for line in plan:
        assert line.low_v <= line.expected_v <= line.high_v
    (pulled,) = (line for line in plan if "D1.release stuck at rest" in line.finds)
    assert pulled.situation == "mains/normal/emergency release"
    assert (pulled.lock, pulled.expected_state) == ("D1.lock", "unlocked")
    assert pulled.high_v < 1.0


def test_a_reading_tells_a_silent_fault_from_none() -> None:
    report = faults(wired(MAGNET), ask=Ask(attacks=False, processes=1))
    for c in report.consequences:
        if c.effect is Effect.SILENT:
            assert c.reading is not None
            assert abs(c.reading.sound_v - c.reading.faulty_v) > 0.5
            assert c.reading.situation in {shown.situation for shown in c.shows_in}


GATE = """\
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah, outputs: {1: {fuse: 2 A}}}}
doors:
  D1:
    supply: S1 out 1
    outside: weather
    power lost: unlocks
    out by: nothing mechanical
    lock: {part: "magnet 12 V, weather", place: inside}
    controller: controller, reader outside
    controller at: supply
    reader: reader
    exit: {part: "exit button, outdoor", place: weather}
    runs:
      lock: 5 m of 2 x 1.0 mm²
      exit: 5 m of 4 x 0.22 mm²
      reader: 5 m of 6 x 0.22 mm²
"""


def test_a_service_line_speaks_of_one_moment() -> None:
    """Ohm's law: a magnet that is locked has volts, one that is unlocked has none."""
    wiring = wired(GATE)
    plan = service_plan(wiring, faults(wiring, ask=Ask(attacks=False, processes=1)))
    at_the_lock = [line for line in plan if line.terminal == "D1.lock.+" and line.lock]
    assert at_the_lock
    for line in at_the_lock:
        assert (line.expected_v > 5.0) is (line.expected_state == "locked")


def test_a_battery_is_tested_at_every_visit() -> None:
    """A dead battery opens the door in an outage and shows in nothing before (common practice, no
    source)."""
    wiring = wired(GATE)
    plan = service_plan(wiring, faults(wiring, ask=Ask(attacks=False, processes=1)))
    (line,) = (line for line in plan if "S1 battery dead" in line.finds)
    assert line.situation.startswith("battery/")


TIRED = """\
latchwork: 1
site: {ambient: 10 to 30 °C}
supplies:
  S1: {part: supply 24 V, battery: 2 x 12 V 17 Ah, outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}}}
usual: {controller: "controller, reader outside", controller at: door, reader: reader}
doors:
  D1:
    power lost: unlocks
    out by: lever
    lock: magnet 24 V
    exit: exit sensor
    supply: S1 out 1
    runs:
      power: 20 m of 3 x 1.0 mm²
      reader: 3 m of 6 x 0.22 mm²
      exit: 3 m of 4 x 0.22 mm²
  D2:
    power lost: stays locked
    out by: lever
    lock: strike 24 V fail-secure, fire-listed
    diode: diode
    supply: S1 out 2
    runs: {power: 32 m of 3 x 1.0 mm², reader: 3 m of 6 x 0.22 mm²}
"""


def test_a_service_line_says_the_moment_that_it_speaks_of() -> None:
    """Held against the doors' own outcome: a magnet whose button breaks its power is unlocked past
    the relay time too, as long as the button is held."""
    told = []
    for job in (TIRED, SERIES):
        wiring = wired(job)
        plan = service_plan(wiring, faults(wiring, ask=Ask(attacks=False, processes=1)))
        site = behave(wiring)
        for line in (each for each in plan if each.lock):
            told.append(line)
            result = site.outcomes[line.door][Case.NOMINAL]
            (column,) = (n for s, n in result.column.items() if s.key == line.situation)
            lock = next(each for each in result.locks if each.device == line.lock)
            state = LockState(int(lock.state[column, int(line.moment == "held")]))
            assert state.name.lower() == line.expected_state
            somebody = not line.situation.endswith("/nobody")
            assert ("past the relay time" in line.do) is (somebody and line.moment == "held")
    assert {line.moment for line in told} == {"begins", "held"}
    late = next(line for line in told if "exit request" in line.situation)
    assert (late.moment, late.expected_state) == ("held", "unlocked")


def test_no_reading_is_printed_that_a_fault_which_it_should_find_passes() -> None:
    wiring = wired(TIRED)
    report = faults(wiring, ask=Ask(attacks=False, processes=1))
    readings = {(c.door, c.fault): c.reading for c in report.consequences}
    metered = 0
    for line in service_plan(wiring, report):
        assert line.lock or line.terminal
        for fault in line.finds:
            reading = readings[line.door, fault]
            if reading and (reading.situation, reading.terminal) == (line.situation, line.terminal):
                assert not line.low_v <= reading.faulty_v <= line.high_v
                metered += 1
    assert metered


def test_a_battery_is_not_brought_to_its_end_more_often_for_what_is_tried_on_it() -> None:
    """Common practice, no source: a release is tried twice a year, a battery run down once."""
    wiring = wired(MAGNET)
    report = faults(wiring, ask=Ask(attacks=False, processes=1))
    some = next(c for c in report.consequences if Effect.SILENT in (c.effect, *c.also))
    months = []
    for power in ("mains", "battery at its end"):
        shown = Shown(f"{power}/normal/emergency release", False, "D1.lock", "unlocked")
        made = put(some, shows_in=(shown,), reading=None)
        (line,) = service_plan(wiring, replace(report, consequences=(made,)))
        months.append(line.every_months)
        # Twelve cells at 1.75 V (a trade handbook, from memory) are 21 V.
        end = "near its end (S1 at 21.00 V, 1.75 V a cell)"
        assert (end in line.do) is (power == "battery at its end")
    assert months == [6, 12]


def test_what_a_way_out_hangs_on_is_tested_twice_a_year() -> None:
    """Common practice, no source: an exit button's poles stand in for each other as a release's do,
    and with both of them welded nobody gets out. Told was once a year."""
    wiring = wired(SERIES)
    report = faults(wiring, ask=Ask("exit contact NC", attacks=False, poles=True, processes=1))
    assert report.pairs is not None
    (pair,) = report.pairs.pairs
    assert pair.effect is Effect.TRAPS
    plan = service_plan(wiring, report)
    found = {name: line.every_months for line in plan for name in line.finds}
    assert found == {pair.silent: 6, pair.second: 6}


def test_one_test_with_the_meter_at_one_place_is_one_line() -> None:
    """A welded pole of the release shows by the meter where a stuck release shows by lock and
    meter: the release is not to be pulled twice for them."""
    wiring = wired(MAGNET)
    report = faults(wiring, ask=Ask(attacks=False, pairs=10**6, processes=1))
    plan = service_plan(wiring, report)
    places = [(n.door, n.situation, n.moment, n.terminal) for n in plan if n.terminal]
    assert len(places) == len(set(places))
    (line,) = (n for n in plan if "D1.release stuck at rest" in n.finds)
    assert "D1.release contact NC1 welded" in line.finds
    assert len(line.told) == len(line.finds)


def test_what_needs_nothing_switched_off_is_tested_first() -> None:
    """Common practice, no source: every switching of a supply is a walk to it, and it ends with
    the power on."""
    wiring = wired(MAGNET)
    plan = service_plan(wiring, faults(wiring, ask=Ask(attacks=False, processes=1)))
    order = ["mains", "battery", "battery at its end", "power returns"]
    for door in wiring.plan.doors:
        turns = [
            (n.every_months, order.index(n.situation.partition("/")[0]))
            for n in plan
            if n.door == door
        ]
        assert turns == sorted(turns)


def test_power_that_comes_back_was_off_with_the_battery() -> None:
    """A controller that its battery held up does not start anew when the mains come back, and an
    exit input that sticks would not show."""
    wiring = wired(TIRED)
    plan = service_plan(wiring, faults(wiring, ask=Ask(attacks=False, processes=1)))
    some = [line.do for line in plan if line.situation.startswith("power returns/")]
    assert some
    assert all("after mains and battery were off" in do for do in some)
