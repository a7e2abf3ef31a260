"""Attacks whose outcome any fitter knows, and how many are tried."""

from __future__ import annotations

from functools import cache

import pytest

from latchwork.faults import Ask, AttackReport, faults
from tests.truth.solved import wired

HEAD = """
latchwork: 1
site: {name: Sample%s}
supplies:
  S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah, outputs: {1: {fuse: 1.0 A}}}
doors:
  D1:
    supply: S1 out 1
"""
STRIKE = """
    out by: lever
    lock: strike 24 V fail-secure
    exit: exit button
"""
KEYPAD_OUTSIDE = """
    controller: keypad, outdoor
    controller at: outside
    outside: weather
    runs: {power: 12 m of 2 x 1.0 mm², lock: 3 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
"""
READER_OUTSIDE = """
    controller: controller, reader outside
    controller at: supply
    reader: reader
    runs:
      lock: 12 m of 2 x 1.0 mm²
      exit: 12 m of 4 x 0.22 mm²
      reader: 12 m of 6 x 0.22 mm²
"""


@cache
def attacked(kit: str, site: str = "") -> AttackReport:
    job = (HEAD % site).replace("    supply: S1 out 1\n", f"    supply: S1 out 1{kit}")
    report = faults(wired(job), ask=Ask(only=frozenset(), processes=1)).attacks
    assert report is not None
    return report


def names(report: AttackReport) -> set[str]:
    return {a.attack.name for a in report.opened}


def test_the_relay_outside_opens_a_strike_by_a_bridge() -> None:
    """The oldest trick there is (common practice, no source): feed and strike bridged."""
    opened = names(attacked(STRIKE + KEYPAD_OUTSIDE))
    assert "join (COM, NO)" in opened
    assert "off the wall" not in opened


def test_a_battery_on_the_cores_of_the_relay_opens_a_strike() -> None:
    """Ohm's law: a strike of 24 V and 0.125 A has 192 Ω. A battery of 24 V behind 1 Ω on its two
    cores leaves it 23.9 V, either way round; one of 9 V from the feed to it adds to 27.3 V."""
    report = attacked(STRIKE + KEYPAD_OUTSIDE)
    volts = {a.attack.name: a.why.faulty_v for a in report.opened}
    for alone in ("24 V from NO to -", "24 V from - to NO"):
        assert volts[alone] == pytest.approx(24.0 * 192.0 / 193.0, abs=0.1)
    assert volts["9 V from NO to COM"] == pytest.approx(36.3 * 192.0 / 193.0, abs=0.3)


def test_a_reader_outside_opens_no_strike() -> None:
    """Its cores bring no power to the lock: shorted they cost the fuse, and the strike stays
    locked (common practice, no source)."""
    assert names(attacked(STRIKE + READER_OUTSIDE)) == set()


def test_cores_of_a_leaky_reader_cable_that_are_joined_send_no_bits() -> None:
    """Damp keeps a data line low, and somebody pulls it up and the other one down: two levels, no
    frame of 26 pulses (docs/faults.md, levels count as no card)."""
    leak = "    found: [{leak: [reader yellow, reader brown], resistance: 400 ohm}]\n"
    report = attacked(STRIKE + READER_OUTSIDE + leak)
    assert report.coverage[0].joins == 15
    assert report.opened == ()


def test_a_reader_shorted_frees_a_magnet_behind_the_same_fuse() -> None:
    """Common practice, no source: plus and minus together blow the fuse, the magnet lets go."""
    magnet = STRIKE.replace("strike 24 V fail-secure", "magnet 24 V").replace(
        "lever", "nothing mechanical"
    )
    report = attacked(magnet + READER_OUTSIDE)
    assert "join (+, -)" in names(report)
    assert "join (D0, D1)" not in names(report)
    (hit,) = (a for a in report.opened if a.attack.name == "join (+, -)")
    assert ("S1.fuse 1", False) in hit.why.moved
    assert hit.why.faulty_v < 1.0 < hit.why.sound_v


SMALL_SUPPLY = """
latchwork: 1
supplies: {S1: {part: supply 24 V, limit: 2 A}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: {part: magnet 24 V, holds down to: 8 V, may pick up at: 18 V, picks up at: 20 V}
    controller: controller, reader outside
    controller at: door
    reader: reader
    exit: exit button
    runs: {power: 2 m of 2 x 1.0 mm²}
"""


def test_what_is_left_on_its_cores_keeps_a_magnet_from_picking_up() -> None:
    """A block of 12 V behind 1 Ω, put the other way round to a supply of 2 A, leaves 12 - 2 x 1 =
    10 V at the most: a magnet that holds on 8 V stays locked at a touch, and one that wants 18 V to
    pick up does not lock as the power comes on with the block there."""
    report = faults(wired(SMALL_SUPPLY), ask=Ask(only=frozenset(), processes=1)).attacks
    assert report is not None
    (hit,) = (a for a in report.opened if a.attack.name == "12 V from - to +")
    assert 8.0 < hit.why.faulty_v < 10.0
    assert hit.why.faulty_state == "unlocked"


@pytest.mark.parametrize(
    ("kit", "ends", "joins"),
    [(READER_OUTSIDE, 4, 15), (KEYPAD_OUTSIDE, 6, 203)],
)
def test_coverage_is_all_of_bells_number_up_to_six(kit: str, ends: int, joins: int) -> None:
    """Bell's numbers: 15 ways for four ends, 203 for six; 3 batteries, both ways round, on each
    pair of ends."""
    (covered,) = attacked(STRIKE + kit).coverage
    assert (covered.ends, covered.joins, covered.of) == (ends, joins, joins)
    assert covered.batteries == 3 * ends * (ends - 1)


def test_every_attack_is_counted() -> None:
    report = attacked(STRIKE + KEYPAD_OUTSIDE)
    (covered,) = report.coverage
    # Each at a touch and left so, on mains, on battery, at its end; and nothing done.
    assert report.counts.points == 3 * (1 + 2 * (covered.joins + covered.batteries))
    assert report.counts.points == report.counts.solved + report.counts.unsolved


SENSOR = """
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller
    controller at: supply
    exit: exit sensor
    sensor seen from outside: yes
    runs: {lock: 12 m of 2 x 1.0 mm², exit: 12 m of 4 x 0.22 mm²}
"""


def test_a_sensor_that_is_seen_from_outside_opens() -> None:
    assert names(attacked(SENSOR)) == {"set off D1.exit from outside"}
    assert names(attacked(SENSOR.replace("    sensor seen from outside: yes\n", ""))) == set()


ONE_LEAF = """
    out by: nothing mechanical
    leaves: 2
    lock: magnet 24 V
    second lock: magnet 24 V
    controller: controller
    controller at: supply
    exit: exit sensor
    sensor seen from outside: yes
    runs: {exit: 5 m of 4 x 0.22 mm²}
    cables: {active: 5 m of 2 x 1.0 mm², passive: 5 m of 2 x 1.0 mm²}
    wiring:
      lock:
        - [S1.1, lead, controller.COM]
        - [controller.NC, active brown, lock.+]
        - [lock.-, active blue, S1.-]
        - [S1.1, passive brown, second lock.+]
        - [second lock.-, passive blue, S1.-]
"""


def test_a_sensor_that_frees_one_leaf_of_two_opens() -> None:
    """Each magnet holds a leaf (common practice, no source): whoever is let through the one does
    not care for the other."""
    opened = {"set off D1.exit from outside"}
    assert names(attacked(ONE_LEAF)) == opened
    assert names(attacked(ONE_LEAF.replace("leaves: 2", "leaves: 1"))) == set()


def test_an_isolator_outside_opens_a_magnet_when_the_battery_is_flat() -> None:
    inside = SENSOR.replace("    sensor seen from outside: yes\n", "")
    opened = names(attacked(inside, ", isolator at: outside"))
    assert opened == {"mains off at the isolator until the battery is flat"}
    secure = inside.replace("magnet 24 V", "strike 24 V fail-secure").replace(
        "nothing mechanical", "lever"
    )
    assert names(attacked(secure, ", isolator at: outside")) == set()


KEY_SWITCH = """
    outside: weather
    out by: lever
    lock: strike 24 V fail-secure
    controller: %s
    controller at: supply
    key switch: {part: "key switch, outdoor", place: weather}
    runs: {lock: 5 m of 2 x 1.0 mm², exit: 5 m of 4 x 0.22 mm²}
"""


@pytest.mark.parametrize("controller", ["controller", "controller, level exit"])
def test_the_cores_of_an_exit_request_are_touched_together(controller: str) -> None:
    """Off the wall, its two cores put together are what the key does (common practice, no source),
    whether the input acts on the change or on the level."""
    assert "join (COM, NO)" in names(attacked(KEY_SWITCH % controller))


NEIGHBOURS = """
latchwork: 1
site: {name: Two magnets}
usual:
  power lost: unlocks
  out by: nothing mechanical
  lock: magnet 24 V
  exit: exit button
  release: release, double pole
  runs: {power: 10 m of 3 x 1.0 mm²}
supplies:
  S1: {part: supply 24 V, limit: 3 A, battery: 2 x 12 V 17 Ah%s}
doors:
  D1: {supply: S1%s, controller: "controller, reader outside", reader: reader}
  D2: {supply: S1%s, outside: outside, controller: controller}
"""
FUSED = ", outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}}"


@pytest.mark.parametrize("doors", [None, ["D2"]])
def test_a_neighbours_reader_opens_what_hangs_on_the_same_supply(doors: list[str] | None) -> None:
    """Common practice, no source: plus and minus together pull down all that is not behind a fuse
    of its own; on mains a fuse parts the one shorted from the others."""

    def opened(*more: str) -> dict[str, float]:
        report = faults(wired(NEIGHBOURS % more), doors, Ask(only=frozenset(), processes=1)).attacks
        assert report is not None
        assert {a.attack.door for a in report.opened} <= set(doors or ("D1", "D2"))
        its = (a for a in report.opened if a.attack.door == "D2")
        on_mains = (a for a in its if a.situation.startswith("mains/"))
        return {f"{a.attack.unit} {a.attack.name}": a.why.faulty_v for a in on_mains}

    bare = opened("", "", "")
    assert bare["D1.reader join (+, -)"] < 2.0
    assert "D1.reader join (D0, D1)" not in bare
    assert opened(FUSED, " out 1", " out 2") == {}


NEVER_HELD = (
    "  D3: {supply: S1, controller: controller, lock: {part: magnet 24 V, holds down to: 28 V}}"
)


def test_a_magnet_that_is_never_held_hides_none_that_is() -> None:
    """27.3 V hold no magnet that needs 28 V. A reader shorted next door pulls them down all the
    same, to volts at which D2's lets go (common practice, no source)."""
    text = NEIGHBOURS % ("", "", "") + NEVER_HELD
    report = faults(wired(text), ["D2"], Ask(only=frozenset(), processes=1)).attacks
    assert report is not None
    assert "join (+, -)" in {a.attack.name for a in report.opened if a.attack.unit == "D1.reader"}


TWO_OUTSIDE = """
    power lost: unlocks
    out by: nothing mechanical
    outside: weather
    lock: magnet 24 V
    controller: controller
    controller at: door
    exit: exit button
    contact: {part: door contact, place: weather}
    bell: bell 24 V
    bell button: bell button
    runs:
      power: 12 m of 2 x 1.0 mm²
      lock: 3 m of 2 x 1.0 mm²
      exit: 3 m of 4 x 0.22 mm²
      contact: 3 m of 4 x 0.22 mm²
      bell: 3 m of 2 x 0.75 mm²
"""


def test_cores_of_two_units_outside_are_joined_with_each_other() -> None:
    """The bell button has the plus, the door contact the minus: neither alone has both. Together
    they blow the fuse, and the magnet lets go (common practice, no source)."""
    report = attacked(TWO_OUTSIDE)
    assert {(a.attack.unit, a.attack.beside) for a in report.opened} == {
        ("D1.contact", "D1.bell button")
    }
    joined = [a.attack.groups for a in report.opened if a.attack.groups]
    assert joined == [(("D1.contact.1", "D1.bell button.1"),)]
    (covered,) = report.coverage
    # Two ends each: both ways to join each unit's own, two by two across.
    assert (covered.ends, covered.joins) == (4, 2 + 2 + 4)
    # Three batteries both ways round on each of the six pairs of ends.
    assert covered.batteries == 3 * 2 * 6
    # A set of four has 15 partitions (Bell's numbers).
    assert covered.of == 15


def test_what_one_unit_does_is_not_told_of_two() -> None:
    """The bell button has the plus: put to the keypad's NO it feeds the strike, as the keypad's own
    COM does (common practice, no source)."""
    runs = "exit: 3 m of 4 x 0.22 mm²"
    keypad = KEYPAD_OUTSIDE.replace(runs, f"{runs}, bell: 3 m of 2 x 0.75 mm²")
    report = attacked(f"{STRIKE}{keypad}    bell: bell 24 V\n    bell button: bell button\n")
    assert "join (COM, NO)" in names(report)
    assert not [a for a in report.opened if a.attack.beside]
