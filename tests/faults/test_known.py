"""Single faults whose outcome any fitter knows: see ``known.md``."""

from __future__ import annotations

from functools import cache

import pytest

from latchwork.behaviour import Mode, Power, behave
from latchwork.faults import Ask, Consequence, Effect, FaultReport, faults
from latchwork.faults.prepare import prepare
from tests.faults.known import Known, jobs, known
from tests.truth.solved import wired


@cache
def report(job: str) -> FaultReport:
    return faults(wired(job), ask=Ask(attacks=False, processes=1))


@cache
def listed(job: str) -> frozenset[str]:
    (cell,) = prepare(wired(job))
    return frozenset(f.id for f in cell.cell.faults)


def found(row: Known) -> Consequence | None:
    return next((c for c in report(row.job).consequences if c.fault == row.fault), None)


@pytest.mark.parametrize("row", known(), ids=str)
def test_a_fault_does_what_any_fitter_knows(row: Known) -> None:
    assert row.fault in listed(row.job)
    consequence = found(row)
    if consequence is None:
        assert (row.effect, row.situation) == ("", "")
    else:
        assert (consequence.effect.value, consequence.situation) == (row.effect, row.situation)
        assert not {consequence.effect, Effect.NOTHING} & set(consequence.also)


@pytest.mark.parametrize("section", jobs())
def test_a_lever_is_never_trapped_by_a_fault(section: str) -> None:
    job = jobs()[section]
    if "lever" in job and "magnet" not in job:
        effects = {c.effect.value for c in report(job).consequences}
        assert not effects & {"traps", "blocks the exit"}


AT_THE_DOOR = """\
latchwork: 1
supplies:
  S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah, outputs: {1: {fuse: 1.0 A}}}
doors:
  D1:
    supply: S1 out 1
    out by: lever
    lock: strike 24 V fail-secure
    diode: diode
    controller: controller, reader outside
    controller at: door
    reader: reader
    exit: exit button
    runs:
      power: 12 m of 2 x 1.0 mm²
      reader: 3 m of 6 x 0.22 mm²
      exit: 3 m of 4 x 0.22 mm²
"""


@pytest.mark.parametrize("core", ["brown", "blue"])
def test_a_device_that_loses_plus_or_minus_is_dead_and_does_not_chatter(core: str) -> None:
    """Common practice, no source: either core of a two-core feed broken, and all is dead."""
    asked = Ask(attacks=False, processes=1, all_rows=True)
    rows = [r for r in faults(wired(AT_THE_DOOR), ask=asked).what_ifs if "power" in r.fault]
    mine = [r for r in rows if r.fault == f"D1.power.{core} open"]
    assert mine
    for row in mine:
        assert (row.begins, row.held, row.chatter) == ("locked", "locked", False), row.situation


def test_a_fuse_heats_while_a_controller_starts_and_stops() -> None:
    """Joule's law: what melts a fuse goes by the mean of the current's square."""
    (job,) = (text for section, text in jobs().items() if section.startswith("A strike and its"))
    (short,) = (c for c in report(job).consequences if c.fault == "D1.diode diode short")
    assert ("S1.fuse 1", False) in short.why.moved
    assert not short.why.restless


@pytest.mark.parametrize("core", ["brown", "blue"])
def test_a_broken_core_or_a_bad_joint_takes_the_locks_volts(core: str) -> None:
    """Ohm's law: a strike of 24 V and 0.125 A has 192 Ω, its cores some 0.4 Ω. Of the 27.3 V of the
    float it keeps 192 / 292.4 behind 100 Ω, and nothing with a core broken. The relay moves as
    ever."""
    (job,) = (text for section, text in jobs().items() if section.startswith("Strike that needs"))
    for fault, volts in (("open", 0.0), ("joint 100", 27.3 * 192 / 292.4)):
        (found,) = (c for c in report(job).consequences if c.fault == f"D1.lock.{core} {fault}")
        assert found.situation == "mains/normal/card or code"
        assert found.why.faulty_v == pytest.approx(volts, abs=0.1)
        assert found.why.moved == ()


def test_a_core_of_the_lock_on_minus_blows_the_fuse_and_the_relay_drops() -> None:
    """Some 27 V over less than an ohm: the fuse of 1 A goes, the controller behind it is dark, and
    its relay, which the card had moved, is at rest (common practice, no source)."""
    (job,) = (text for section, text in jobs().items() if section.startswith("Strike that needs"))
    (found,) = (c for c in report(job).consequences if c.fault == "D1.lock.brown to minus")
    relay = ("D1.controller.contact NO", False), ("D1.controller.contact NC", True)
    assert set(found.why.moved) == {("S1.fuse 1", False), *relay}
    assert found.why.lost == ("D1.controller",)


TWO_MAGNETS = """\
latchwork: 1
supplies: {S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 24 V
    second lock: magnet 24 V
    controller: controller, reader outside
    controller at: supply
    reader: reader
    exit: exit button
    runs:
      lock: 12 m of 2 x 1.5 mm²
      exit: 12 m of 4 x 0.22 mm²
      reader: 12 m of 6 x 0.22 mm²
"""


@pytest.mark.parametrize("lock", ["lock", "second lock"])
def test_nobody_notices_one_lock_of_two(lock: str) -> None:
    """Common practice, no source: while the other holds, the door does as before."""
    (dead,) = (c for c in report(TWO_MAGNETS).consequences if c.fault == f"D1.{lock} coil open")
    assert dead.effect is Effect.SILENT
    assert {shown.lock for shown in dead.shows_in} == {f"D1.{lock}"}


KEY = """\
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah, outputs: {1: {fuse: 2.0 A}}}}
doors:
  D1:
    supply: S1 out 1
    outside: outside
    out by: lever
    lock: strike 12 V fail-secure, wide range
    diode: diode
    key switch: key switch, outdoor
    runs: {lock: 12 m of 2 x 1.0 mm², exit: 5 m of 2 x 1.0 mm²}
"""


@pytest.mark.parametrize("fault", ["D1.lock coil open", "D1.lock.blue open", "S1 fuse 1 blown"])
def test_a_key_that_opens_no_more_is_noticed(fault: str) -> None:
    """Common practice, no source: where a key switch is all there is, it is the way in."""
    (found,) = (c for c in report(KEY).consequences if c.fault == fault)
    assert found.effect is Effect.STOPS
    assert found.situation == "mains/normal/card or code"


def test_a_key_switch_opens_where_nothing_else_does() -> None:
    states = behave(wired(KEY)).states["D1"]
    (usual,) = (s for s in states if (s.power, s.mode) == (Power.MAINS, Mode.NORMAL))
    assert (usual.enter_with_right.can, usual.enter_with_right.by) == (True, "key")


BESIDE_A_STRIKE = """\
latchwork: 1
supplies: {S1: {part: "supply 24 V, 5 A", battery: 2 x 12 V 17 Ah, outputs: {1: {fuse: 2.0 A}}}}
doors:
  D1:
    supply: S1 out 1
    outside: outside
    power lost: {enter: locked, leave: unlocked}
    fire alarm: {enter: locked, leave: unlocked}
    out by: lever
    lock: {part: magnet 24 V, holds down to: 17 V}
    second lock: strike 24 V fail-secure, fire-listed
    diode: diode
    release: release, double pole
    controller: controller
    exit: exit button
    fire: fire relay
    runs: {power: 12 m of 2 x 1.5 mm², fire: 12 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²,
           release: 3 m of 4 x 1.0 mm²}
"""


@pytest.mark.parametrize(
    ("fault", "effect"),
    [
        ("D1.release stuck at rest", Effect.RELEASE),
        ("D1.fire relay stuck on", Effect.HOLDS),
        ("D1.fire contact NO welded", Effect.HOLDS),
    ],
)
def test_a_magnet_beside_a_strike_with_a_lever_has_to_let_go(fault: str, effect: Effect) -> None:
    """Common practice, no source: the lever draws the strike's latch and not the magnet, so that
    what keeps the magnet shut keeps the door shut."""
    (found,) = (c for c in report(BESIDE_A_STRIKE).consequences if c.fault == fault)
    assert (found.effect, found.why.lock) == (effect, "D1.lock")


def test_what_is_told_is_not_said_to_be_unseen() -> None:
    for job in (*jobs().values(), BESIDE_A_STRIKE):
        told = {c.fault for c in report(job).consequences}
        assert not told & set(report(job).unseen)
