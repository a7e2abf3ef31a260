"""Remedies against faults and attacks: what is told was tried, and stands when run anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest
from msgspec.structs import replace as put

from latchwork.answers.faults import answered
from latchwork.behaviour import Mode, Power, behave
from latchwork.behaviour.passing import leaf_each
from latchwork.faults import Ask, Effect, FaultReport, faults
from latchwork.faults.spread import Cores
from latchwork.findings import Finding, Severity
from latchwork.parts import catalogue
from latchwork.remedies import against_faults
from latchwork.remedies.against_faults import FaultRemedy, fault_remedies
from latchwork.remedies.bench import Bench, Edited, Laid
from latchwork.remedies.candidate import Candidate, to_put
from latchwork.remedies.moves.devices import (
    bar_switch,
    other_controller,
    own_release,
    reader_outside,
    release_outside,
)
from latchwork.remedies.moves.wiring import standard_leg
from latchwork.remedies.scene import Scene
from latchwork.rules import judge
from tests.faults.known import jobs
from tests.faults.test_attacks import HEAD, KEYPAD_OUTSIDE, STRIKE
from tests.truth.solved import wired

MAGNET, ALONE, *_ = jobs().values()
ASK = Ask(processes=1)


@cache
def tried(job: str) -> tuple[FaultReport, list[FaultRemedy]]:
    site = behave(wired(job))
    scene = Scene(job, "job.yaml", catalogue(), site)
    report = faults(site.wiring, ask=ASK)
    return report, fault_remedies(scene, replace(report, doors=("D1",)))


def effects(report: FaultReport) -> dict[str, Effect]:
    return {c.fault: c.effect for c in report.consequences}


def test_a_magnet_that_traps_is_given_another_way_out() -> None:
    """An exit button alone: with its core broken nobody gets out. A release in the lock's power,
    or a bar whose switch breaks it, lets people out (common practice, no source)."""
    report, found = tried(ALONE)
    before = effects(report)
    traps = {f for f, e in before.items() if e is Effect.TRAPS}
    told = [r for r in found if r.effect is Effect.TRAPS]
    assert set().union(*(r.faults for r in told)) == traps
    for remedy in told:
        after = effects(faults(wired(remedy.text), ask=ASK))
        assert all(after.get(f) is not Effect.TRAPS for f in remedy.faults)
        assert sum(e is Effect.TRAPS for e in after.values()) == remedy.left


def test_no_remedy_brings_anything_worse() -> None:
    report, found = tried(ALONE)
    had = {(f.rule, f.subject) for f in judge(behave(wired(ALONE)))}
    before, order = effects(report), list(Effect)
    assert found
    for remedy in found:
        fresh = [f for f in judge(behave(wired(remedy.text))) if f.severity <= Severity.WEAK]
        assert all((f.rule, f.subject) in had for f in fresh)
        after = effects(faults(wired(remedy.text), ask=ASK))
        worst = order.index(remedy.effect) if remedy.effect else len(order)
        for fault, effect in after.items():
            rank = order.index(effect)
            assert rank >= worst or rank >= order.index(before.get(fault, Effect.NOTHING))


def test_the_relay_goes_inside_where_an_attack_bridges_it() -> None:
    """Common practice, no source: a reader outside, the relay on the secure side."""
    job = HEAD % "" + (STRIKE + KEYPAD_OUTSIDE).lstrip("\n")
    report, found = tried(job)
    assert report.attacks is not None
    assert report.attacks.opened
    (remedy,) = (r for r in found if r.effect is None)
    assert remedy.left == 0
    after = faults(wired(remedy.text), ask=ASK).attacks
    assert after is not None
    assert after.opened == ()


def test_a_keypad_said_to_be_outside_is_replaced_by_works_inside() -> None:
    """With a keypad goes what was said of its place: its face stays outside, its relay does not
    (the part's own: face outside, works and relay inside)."""
    said = KEYPAD_OUTSIDE.replace("keypad, outdoor", '{part: "keypad, outdoor", place: outside}')
    job = HEAD % "" + (STRIKE + said).lstrip("\n")
    scene = Scene(job, "job.yaml", catalogue(), behave(wired(job)))
    about = Finding("single-fault", "D1", Severity.INSECURE, "", {}, "model")
    bench = Bench(scene)
    for move in (other_controller, reader_outside):
        laid = [bench.lay(candidate) for candidate in move(scene, about)]
        assert any(x.wiring.plan.job.doors["D1"].controller_at == "door" for x in laid if x)


SHUT = """\
latchwork: 1
supplies: {S1: {part: supply 24 V, limit: 5 A, outputs: {1: {fuse: 2 A}}}}
doors:
  D1:
    supply: S1 out 1
    out by: nothing mechanical
    lock: bolt 24 V fail-safe
    controller: controller
    controller at: supply
    runs: {lock: 5 m of 2 x 1.0 mm²}
"""


def test_no_remedy_takes_the_last_way_out() -> None:
    """A door with no way out but its power failing: a lock that stays locked then would leave
    none (common practice, no source)."""
    _, found = tried(SHUT)
    for remedy in found:
        site = behave(wired(remedy.text))
        states = {(s.power, s.mode): s.leave.can for s in site.states["D1"]}
        before = {(s.power, s.mode): s.leave.can for s in behave(wired(SHUT)).states["D1"]}
        assert any(before.values())
        assert all(states[key] for key, can in before.items() if can)


@pytest.mark.slow_oracle
def test_a_remedy_takes_away_what_is_worth_it() -> None:
    """An exit button of another kind takes one of 22 faults that block the exit away."""
    found = tried(MAGNET)[1]
    assert found
    some = [r for r in found if r.faults != ("S1 supply dead with its battery flat",)]
    assert some
    for remedy in some:
        assert remedy.had - remedy.left >= 0.1 * remedy.had


INTERLOCKED = """
latchwork: 1
supplies: {S1: {part: "supply 24 V, four outputs", battery: 2 x 12 V 7 Ah}}
doors:
  D1:
    supply: S1 out 1
    power lost: unlocks
    fire alarm: stays locked
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller
    controller at: door
    exit: button
    release: release, double pole
    runs:
      power: 10 m of 2 x 1.0 mm²
      lock: 3 m of 2 x 1.0 mm²
      exit: 3 m of 4 x 0.22 mm²
      release: 3 m of 4 x 1.0 mm²
    joints: {J1: {}, J2: {}}
    cables: {il: 8 m of 2 x 0.5 mm²}
    wiring:
      release:
        - [controller.+, release brown, release.COM1]
        - [controller.-, release black, release.COM2]
        - [release.NC1, release blue, J1]
        - [release.NC2, release grey, J2]
      lock:
        - [J1, lead, controller.COM]
        - [controller.NC, lock brown, lock.+]
        - [J2, lock blue, lock.-]
        - [controller.COM, il brown, D2.contact.1]
        - [controller.NC, il blue, D2.contact.2]
  D2:
    supply: S1 out 1
    out by: lever
    lock: strike 24 V fail-secure
    diode: diode
    controller: controller
    exit: button
    contact: {part: "door contact, open when shut", switches: 1 A}
    runs: {power: 10 m of 2 x 1.0 mm², lock: 3 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
    wiring: {contact: []}
"""
"""While D2 stands open its contact keeps the magnet of D1 fed."""


def test_no_remedy_takes_an_interlock_out() -> None:
    """What the client asked for has faults of its own. With the wires to the other door gone, four
    faults of 24 that block the exit were gone too, and that was told as a remedy."""
    _, found = tried(INTERLOCKED)
    assert found
    for remedy in found:
        assert "il brown, D2.contact.1" in remedy.text
        assert "controller.NC, il blue, D2.contact.2" in remedy.text


def test_what_a_remedy_brings_at_another_door_is_told_with_it() -> None:
    """A bolt with a diode in the place of the magnet, on one output with D2: a diode that is short
    is a short across that output, which stops D2 as well. Held against a run of that door."""
    _, found = tried(INTERLOCKED)
    before, order = _at(INTERLOCKED, "D2"), list(Effect)
    told = 0
    for remedy in found:
        after = _at(remedy.text, "D2")
        worse = {
            (effect, fault)
            for fault, effect in after.items()
            if order.index(effect) < order.index(before.get(fault, Effect.NOTHING))
        }
        there = {(c.effect, f.id) for c in remedy.comes if c.door == "D2" for f in c.faults}
        assert there == worse
        assert {c.door for c in remedy.comes} <= {"D1", "D2"}
        told += len(worse)
    assert told


def test_what_of_less_harm_a_remedy_brings_at_its_own_door_is_told_with_it() -> None:
    """A release that helps has screws of its own, which may be bad or joined: held against a run
    of the door with it."""
    _, found = tried(ALONE)
    before, order = _at(ALONE, "D1"), list(Effect)
    told = 0
    for remedy in found:
        least = order.index(remedy.effect) if remedy.effect else -1
        worse = {
            (effect, fault)
            for fault, effect in _at(remedy.text, "D1").items()
            if least < order.index(effect) < order.index(before.get(fault, Effect.NOTHING))
        }
        assert {(c.effect, f.id) for c in remedy.comes for f in c.faults} == worse
        assert {c.door for c in remedy.comes} <= {"D1"}
        told += len(worse)
    assert told


def test_what_a_remedy_brings_is_named_as_any_fault_of_the_page() -> None:
    """A joint with its ohms, and the two screws of a short with a plus between them; what a new
    part brings is in no list of the job's own faults."""
    report, found = tried(ALONE)
    (door,) = answered(wired(ALONE), report, (), found, ALONE, asked=True).doors
    own = {fault.text for fault in door.faults}
    names = {f for remedy in door.remedies for comes in remedy.comes for f in comes.faults}
    joints = {name for name in names if " joint " in name}
    shorts = {name for name in names if name.endswith(" short") and "coil" not in name}
    assert joints - own
    assert all(name.endswith(" Ω") for name in joints)
    assert shorts - own
    assert all(" + " in name for name in shorts)


def _at(job: str, door: str) -> dict[str, Effect]:
    report = faults(wired(job), [door], Ask(attacks=False, near=True, processes=1))
    return {c.fault: c.effect for c in report.consequences}


NOT_HELD = """
latchwork: 1
supplies: {S1: {part: "supply 24 V, no battery", limit: 2 A}}
doors:
  D1:
    supply: S1
    power lost: unlocks
    fire alarm: unlocks
    fire: fire relay, not held
    out by: lever
    lock: strike 24 V fail-safe, diode
    controller: controller
    runs: {power: 12 m of 3 x 1.0 mm²}
"""
"""Its fire relay opens on alarm and not where the panel is lost, which ``check`` tells."""


def test_no_remedy_takes_out_what_unlocks_in_a_fire() -> None:
    """Without the fire relay none of its faults is left, and nothing unlocks in an alarm any more:
    the same mistake as with the panel lost, and yet new."""
    report, found = tried(NOT_HELD)
    assert Effect.HOLDS in effects(report).values()
    assert [r for r in found if r.effect is Effect.HOLDS]
    for remedy in found:
        (state,) = (
            s
            for s in behave(wired(remedy.text)).states["D1"]
            if (s.power, s.mode) == (Power.MAINS, Mode.FIRE_ALARM)
        )
        assert state.enter_without_right.can


SHARED = """
latchwork: 1
usual:
  supply: S1
  power lost: unlocks
  fire alarm: unlocks
  fire: F1
  out by: nothing mechanical
  lock: {part: "magnet 24 V, small", holds down to: 18 V}
  exit: button
  release: release, double pole
  controller: controller
supplies: {S1: {part: "supply 24 V, no battery", limit: 2 A}}
devices: {F1: fire relay}
doors:
  D1: {runs: {power: 34 m of 3 x 0.5 mm²}}
  D2: {runs: {power: 21 m of 3 x 0.5 mm²}}
"""
"""Both doors behind one fire relay, on a supply without fuses: a short at the one takes its volts
from the other, whatever relay is ahead of that."""


@pytest.mark.slow_oracle
def test_a_fault_next_door_is_not_gone_with_the_shared_relay() -> None:
    """With a fire relay of its own D1 is in no circuit with D2, and the shorts there pull its
    supply down as before: of the faults that block the exit no tenth is gone."""
    report, found = tried(SHARED)
    before = {c.fault for c in report.consequences if (c.door, c.effect) == ("D1", Effect.BLOCKS)}
    assert any(name.startswith("D2.") for name in before)
    told = [r for r in found if r.effect is Effect.BLOCKS]
    assert told
    for remedy in told:
        after = faults(wired(remedy.text), ["D1"], ASK).consequences
        still = {c.fault for c in after if c.effect is Effect.BLOCKS}
        assert not still & set(remedy.faults)
        assert remedy.left >= len(still & before)


LEAVES = """
latchwork: 1
supplies: {S1: {part: "supply 24 V, no battery", limit: 2 A}}
doors:
  D1:
    supply: S1
    leaves: 2
    power lost: unlocks
    fire alarm: stays locked
    out by: nothing mechanical
    lock: {part: magnet 24 V, holds down to: 18 V}
    second lock: {part: magnet 24 V, holds down to: 18 V}
    exit: button
    release: release, double pole
    controller: controller
    runs: {power: 12 m of 2 x 1.5 mm²}
"""


def test_each_leaf_keeps_its_lock() -> None:
    """A strike in the place of one of two magnets holds no leaf more surely than that did: it was
    told, as two locks of different kinds count as holding one leaf together."""
    _, found = tried(LEAVES)
    assert all(leaf_each(wired(r.text).plan, "D1") for r in found)


OUTSIDE = """
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 17 Ah}}
doors:
  D1:
    supply: S1
    outside: weather
    power lost: unlocks
    fire alarm: unlocks
    fire: fire relay
    out by: nothing mechanical
    lock: {part: magnet 24 V, holds down to: 18 V}
    controller: keypad, outdoor, tamper refuses everyone
    controller at: outside
    exit: button
    release: release, double pole
    runs: {power: 12 m of 3 x 1.5 mm²}
"""


@pytest.mark.slow_oracle
def test_a_remedy_takes_away_attacks_that_are_worth_it() -> None:
    """The same keypad said to stand elsewhere takes 4 of 245 attacks away; the relay on the secure
    side takes all."""
    told = [r for r in tried(OUTSIDE)[1] if r.effect is None]
    assert told
    for remedy in told:
        assert remedy.had - remedy.left >= 0.1 * remedy.had


def test_what_dies_with_a_keypad_outside_is_put_inside_before_a_bar_is_fitted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A release stuck at rest traps while the keypad is dead. Works inside go where the cores end
    already, and take its attacks too; a bar is work on the leaf (common practice, no source)."""
    scene = Scene(OUTSIDE, "job.yaml", catalogue(), behave(wired(OUTSIDE)))
    stuck = Ask(attacks=False, processes=1, fault="release stuck at rest")
    report = faults(scene.wiring, ask=stuck)
    assert [c.effect for c in report.consequences] == [Effect.TRAPS]
    moves = [m for m in against_faults.MOVES[Effect.TRAPS] if m in (bar_switch, other_controller)]
    monkeypatch.setattr(against_faults, "MOVES", {Effect.TRAPS: moves})
    told = fault_remedies(scene, report, over=Cores(1))
    assert [r.new_parts for r in told] == [("controller",)]


def test_what_takes_attacks_away_does_nothing_worse_by_a_fault(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A controller inside takes the attacks away. Were the fire relay exchanged for one of a single
    pole in the same breath, that pole welded would keep the door locked in a fire, as neither of
    two did (common practice, no source): that is not told."""
    job = OUTSIDE.replace("fire: fire relay", "fire: fire relay, double pole")
    scene = Scene(job, "job.yaml", catalogue(), behave(wired(job)))
    report = faults(scene.wiring, ask=Ask(only=frozenset(), processes=1))
    assert report.attacks is not None
    assert report.attacks.opened

    def one_pole(scene: Scene, finding: Finding) -> Iterator[Candidate]:
        for candidate in other_controller(scene, finding):
            yield candidate + to_put("doors.D1.fire", "fire relay")

    for move, told in ((other_controller, True), (one_pole, False)):
        monkeypatch.setattr(against_faults, "AGAINST_ATTACKS", (move,))
        assert bool(fault_remedies(scene, report, over=Cores(1))) is told


WAYS_OUT = (Effect.TRAPS, Effect.BLOCKS)


INWARD = """
latchwork: 1
supplies: {S1: {part: "supply 24 V, no battery", limit: 2 A}}
doors:
  D1:
    supply: S1
    fire alarm: unlocks
    escape direction: both
    out by: panic bar
    bar: panic bar with switch
    lock: {part: magnet 24 V, holds down to: 18 V}
    controller: controller
    fire: fire relay
    runs: {power: 12 m of 3 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
"""
"""A fire relay that unlocks a magnet on the way through from both sides."""


def test_who_escapes_inward_gets_a_release_within_reach(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever holds the fire relay, a release in the lock's own power frees it (common practice,
    no source)."""
    scene = Scene(INWARD, "job.yaml", catalogue(), behave(wired(INWARD)))
    whole = faults(scene.wiring, ask=Ask(attacks=False, processes=1))
    some = tuple(c for c in whole.consequences if c.effect is Effect.INWARD)
    moves = [m for m in against_faults.MOVES[Effect.INWARD] if m is release_outside]
    monkeypatch.setattr(against_faults, "MOVES", {Effect.INWARD: moves})
    told = fault_remedies(scene, replace(whole, consequences=some))
    assert any('release: {part: "release, double pole", place: outside}' in r.text for r in told)


TWO = """
latchwork: 1
supplies: {S1: {part: "supply 24 V, no battery", limit: 3 A}}
usual:
  supply: S1
  power lost: unlocks
  out by: nothing mechanical
  lock: {part: magnet 24 V, holds down to: 18 V}
  exit: exit button
  controller: controller
  runs: {power: 12 m of 2 x 1.5 mm², exit: 3 m of 2 x 0.22 mm²}
doors: {D1: {}, D2: {}}
"""


def test_doors_side_by_side_are_told_of_as_one_after_the_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two processes, each with a door; what they are held against is tried in this one."""
    moves = {Effect.TRAPS: (own_release,), Effect.BLOCKS: (own_release,)}
    monkeypatch.setattr(against_faults, "MOVES", moves)
    scene = Scene(TWO, "job.yaml", catalogue(), behave(wired(TWO)))
    report = faults(scene.wiring, ask=Ask(attacks=False, processes=1))
    here, apart = (fault_remedies(scene, report, over=Cores(n)) for n in (1, 2))
    assert {remedy.door for remedy in here} == {"D1", "D2"}
    assert apart == here


def test_what_several_effects_ask_for_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bar is tried against what traps, then against what blocks the exit."""
    scene = Scene(OUTSIDE, "job.yaml", catalogue(), behave(wired(OUTSIDE)))
    report = faults(scene.wiring, ask=Ask(attacks=False, processes=1, fault="exit contact"))
    assert {c.effect for c in report.consequences} == {Effect.BLOCKS}
    both = tuple(put(c, effect=e) for c in report.consequences for e in WAYS_OUT)
    monkeypatch.setattr(against_faults, "MOVES", dict.fromkeys(WAYS_OUT, (bar_switch,)))
    texts: list[str] = []
    read = Bench.read

    def counted(bench: Bench, edited: Edited) -> Laid | None:
        texts.append(edited.text)
        return read(bench, edited)

    monkeypatch.setattr(Bench, "read", counted)
    assert fault_remedies(scene, replace(report, consequences=both), over=Cores(1))
    assert len(texts) == len(set(texts)) > 0


BOLTS = """
latchwork: 1
supplies: {S1: {part: supply 12 V}}
usual:
  supply: S1
  out by: nothing mechanical
  lock: bolt 12 V fail-secure
  controller: controller
  exit: button
  runs: {power: 20 m of 4 x 1.5 mm², exit: 3 m of 4 x 0.22 mm²}
doors: {D1: {}, D2: {}}
"""


def test_what_a_new_core_does_next_door_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Bolts that need power to open, on a supply without fuses: a core shorted to minus keeps
    people in at both doors (Ohm's law). A release is a way out of D2, and brings such a core."""
    scene = Scene(BOLTS, "job.yaml", catalogue(), behave(wired(BOLTS)))
    report = faults(scene.wiring, ["D2"], Ask(attacks=False, processes=1))
    monkeypatch.setattr(against_faults, "MOVES", {Effect.TRAPS: (own_release,)})
    told = fault_remedies(scene, report, over=Cores(1))
    assert told
    for remedy in told:
        there = [comes for comes in remedy.comes if comes.door == "D1"]
        assert [comes.effect for comes in there] == [Effect.TRAPS]
        names = {fault.id for fault in there[0].faults}
        assert all(name.startswith("D2.release") for name in names)
        after = faults(wired(remedy.text), ["D1"], Ask(attacks=False, processes=1))
        assert names <= {c.fault for c in after.consequences if c.effect is Effect.TRAPS}


SIGNALS = """
latchwork: 1
supplies: {S1: {part: supply 24 V}}
usual:
  supply: S1
  out by: nothing mechanical
  lock: magnet 24 V
  controller: controller
  exit: button
doors:
  D1:
    release: release, double pole
    runs: {release: 3 m of 4 x 1.0 mm²}
    wiring:
      release:
        - [controller.EXIT, release brown, release.NO1]
        - [controller.GND, release blue, release.COM1]
  D2: {}
"""


def test_what_an_old_core_does_next_door_in_its_new_place_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """On a supply without fuses a core on plus that touches minus takes the magnets of both doors
    (Ohm's law). Those of the release were at an input, and are in the lock's feed with it."""
    scene = Scene(SIGNALS, "job.yaml", catalogue(), behave(wired(SIGNALS)))
    report = faults(scene.wiring, ["D1"], Ask(attacks=False, processes=1))
    monkeypatch.setattr(against_faults, "MOVES", {Effect.TRAPS: (standard_leg,)})
    (told, *_) = fault_remedies(scene, report, over=Cores(1))
    there = {f.id: c.effect for c in told.comes if c.door == "D2" for f in c.faults}
    assert there["D1.release.blue to minus"] == Effect.OPENS
