"""The report of a run: counts that add up, order that does not matter, worst cases, far faults."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from operator import attrgetter
from typing import TypeVar

import numpy as np
import pytest
from msgspec.structs import replace as put

from latchwork.behaviour import Case
from latchwork.faults import Ask, Consequence, Effect, FaultReport, WhatIf, faults, lot, spread
from latchwork.faults.model import UNTOLD
from latchwork.faults.prepare import prepare
from latchwork.faults.tasks import tasks
from latchwork.parts import Part
from latchwork.wiring import Wiring
from tests.faults.known import jobs
from tests.faults.test_silent import FELT
from tests.truth.solved import wired
from tests.wiring.sites import RELEASED

Thing = TypeVar("Thing")

MAGNET, ALONE, *_ = jobs().values()
ONE = Ask(attacks=False, processes=1)

DOOR = """
  {name}:
    supply: S1 out {out}
    power lost: unlocks
    out by: nothing mechanical
    lock: {{part: magnet 24 V, holds down to: 18 V}}
    controller: controller
    controller at: supply
    exit: exit button
    runs: {{lock: {metres} m of 2 x 1.5 mm², exit: 4 m of 4 x 0.22 mm²}}
"""
HEAD = """
latchwork: 1
supplies:
  S1:
    part: supply 24 V
    limit: 3 A
    battery: 2 x 12 V 7 Ah
    outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}, 3: {fuse: 20 A}}
  S2: {part: supply 24 V, limit: 3 A, outputs: {1: {fuse: 1 A}}}
doors:
"""


def site(*doors: tuple[str, int, int]) -> str:
    return HEAD + "".join(DOOR.format(name=n, out=o, metres=m) for n, o, m in doors)


THREE = site(("D1", 1, 8), ("D2", 2, 11), ("D3", 3, 14))
TWO_SUPPLIES = THREE + DOOR.format(name="D4", out=1, metres=9).replace("S1", "S2")


def told(report: FaultReport) -> set[tuple[str, str, str, str]]:
    return {(c.door, c.fault, c.effect.value, c.situation) for c in report.consequences}


@pytest.mark.parametrize("job", [*jobs().values(), THREE])
def test_every_point_is_counted(job: str) -> None:
    report = faults(wired(job), ask=replace(ONE, all_rows=True))
    counts = report.counts
    assert counts.points == counts.solved + counts.unsolved
    cells = prepare(wired(job))
    asked = [(len(p.cell.faults) + 1) * len(s) for p in cells for s in p.cell.situations]
    assert counts.points >= sum(asked)
    sound = sum(len(s) for p in cells for s in p.cell.situations)
    # Two doors of the three are run again with the whole supply, sound and with what pulls it down.
    again = 2 * 28 if job is THREE else 0
    # A row is of one lock; a point of all of a door's.
    rows: dict[tuple[str, str, str], list[WhatIf]] = {}
    for row in report.what_ifs:
        rows.setdefault((row.door, row.fault, row.situation), []).append(row)
    assert len(rows) == counts.points - sound - again
    points = list(rows.values())
    assert sum(any(r.chatter for r in its) for its in points) == counts.chatter
    assert sum(any(r.floating for r in its) for its in points) <= counts.floating
    unsure = [any("marginal" in (r.begins, r.held) for r in its) for its in points]
    assert sum(unsure) == counts.marginal


def test_the_situations_are_the_28() -> None:
    (cell,) = prepare(wired(ALONE))
    assert len(cell.cell.situations[0]) == len(set(cell.cell.situations[0])) == 28


def test_the_order_of_doors_and_wires_changes_nothing() -> None:
    turned = site(("D3", 3, 14), ("D1", 1, 8), ("D2", 2, 11))
    one, other = faults(wired(THREE), ask=ONE), faults(wired(turned), ask=ONE)
    assert told(one) == told(other)
    assert one.counts == other.counts
    assert [c.door for c in other.consequences] == sorted(
        (c.door for c in other.consequences), key=["D3", "D1", "D2"].index
    )


def shuffled(wiring: Wiring, rng: np.random.Generator) -> Wiring:
    """The same wiring, with cores, leads, devices and what parts are made of in another order."""

    def mixed(things: Iterable[Thing]) -> list[Thing]:
        listed = list(things)
        return [listed[n] for n in rng.permutation(len(listed))]

    def turned(part: Part) -> Part:
        return replace(part, elements=tuple(mixed(part.elements)), rules=tuple(mixed(part.rules)))

    devices = {
        name: replace(device, part=turned(device.part))
        for name, device in mixed(wiring.plan.devices.items())
    }
    return replace(
        wiring,
        plan=replace(wiring.plan, devices=devices),
        conductors=tuple(mixed(wiring.conductors)),
        leads=tuple(mixed(wiring.leads)),
    )


def coarse(row: WhatIf) -> WhatIf:
    """A what-if without its volts."""
    return put(row, begins_v=0.0, held_v=0.0, floating=False)


@pytest.mark.parametrize("job", [*jobs().values(), THREE])
def test_the_order_of_elements_changes_nothing(job: str) -> None:
    """Currents are added up in another order: the last digits of volts may differ, nothing else
    but whether a lock hangs on nothing, which is told by volts of exactly nought."""
    wiring, ask = wired(job), replace(ONE, all_rows=True)
    one = faults(wiring, ask=ask)
    other = faults(shuffled(wiring, np.random.default_rng(3)), ask=ask)
    assert told(one) == told(other)
    assert one.listed == other.listed
    key = attrgetter("door", "fault", "situation", "lock")
    rows = zip(sorted(one.what_ifs, key=key), sorted(other.what_ifs, key=key), strict=True)
    for ours, theirs in rows:
        assert coarse(ours) == coarse(theirs)
        if not ours.chatter:
            assert ours.begins_v == pytest.approx(theirs.begins_v, abs=1e-6)
            assert ours.held_v == pytest.approx(theirs.held_v, abs=1e-6)


def test_two_processes_answer_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Attacks and the order of what-ifs included."""
    monkeypatch.setattr(spread, "WORTH_DOORS", 1)
    wiring = wired(TWO_SUPPLIES)
    ask = Ask(all_rows=True, processes=1)
    alone = faults(wiring, ask=ask)
    told: list[tuple[str, int, int]] = []
    both = faults(wiring, None, replace(ask, processes=2), lambda *far: told.append(far))
    assert both == alone
    assert told[-1][0] == "attacks"
    assert max(far for far in told if far[0] == "faults")[1] == alone.counts.points


def test_tasks_in_threads_answer_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spread, "compiles", lambda: True)
    ask = Ask(attacks=False, all_rows=True, worst=True, processes=2)
    assert lot.Lot((), None, ask, alone=True).threads() == 2
    assert lot.Lot((), None, ask).threads() == 1
    wiring = wired(TWO_SUPPLIES)
    assert faults(wiring, ask=ask) == faults(wiring, ask=replace(ask, processes=1))


def test_tasks_of_any_size_answer_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    from latchwork.faults import tasks as made

    whole = faults(wired(THREE), ask=ONE)
    monkeypatch.setattr(made, "most_columns", lambda: 28 * 7)
    assert len(list(tasks(prepare(wired(THREE))))) > 30
    pieces = faults(wired(THREE), ask=ONE)
    assert pieces.consequences == whole.consequences
    assert pieces.counts.points == whole.counts.points


def test_one_door_tells_what_all_tell_of_it() -> None:
    whole, one = faults(wired(THREE), ask=ONE), faults(wired(THREE), ["D2"], ONE)
    assert one.doors == ("D2",)
    assert one.consequences == tuple(c for c in whole.consequences if c.door == "D2")


def test_a_door_tells_the_same_beside_one_that_lets_go_at_other_volts() -> None:
    """Two doors wired alike on supplies of their own have nothing to do with each other."""
    head = "latchwork: 1\nsupplies: {S1: supply 24 V, S2: supply 24 V}\ndoors:\n"
    own = DOOR.format(name="D1", out=1, metres=8).replace(" out 1", "")
    other = own.replace("D1:", "D2:").replace("S1", "S2").replace("18 V", "20.4 V")
    assert [len(task.shares) for task in tasks(prepare(wired(head + own + other)))] == [2]
    alone, beside = (faults(wired(head + doors), ask=ONE) for doors in (own, own + other))
    assert told(alone) == {each for each in told(beside) if each[0] == "D1"}


def test_without_reasons_the_effects_are_the_same() -> None:
    """How a meter tells and what moved is told of effects that are judged before."""

    def effects(report: FaultReport) -> list[Consequence]:
        return [put(c, why=UNTOLD, shows_in=(), reading=None) for c in report.consequences]

    wiring = wired(MAGNET)
    bare = faults(wiring, ask=replace(ONE, reasons=False))
    assert effects(bare) == effects(faults(wiring, ask=ONE))
    assert {c.why for c in bare.consequences} == {UNTOLD}
    assert not any(c.shows_in for c in bare.consequences)


def test_only_the_supply_of_a_named_door_is_run() -> None:
    wiring = wired(TWO_SUPPLIES)
    assert {p.cell.doors for p in prepare(wiring, ["D4"])} == {("D4",)}
    assert faults(wiring, ["D4"], ONE).counts.points < faults(wiring, ask=ONE).counts.points / 3


def by_name(report: FaultReport, door: str) -> dict[str, Consequence]:
    return {c.fault: c for c in report.consequences if c.door == door}


def test_a_short_that_no_fuse_ends_is_felt_at_every_door() -> None:
    """The fuse of output 3 is far too big: its run shorted takes every magnet down."""
    report = faults(wired(THREE), ask=ONE)
    fault = "D3.lock.+ D3.lock.- short"
    for door in ("D1", "D2", "D3"):
        found = by_name(report, door)[fault]
        assert found.effect is Effect.OPENS
        assert found.why.faulty_v < 2.0 < found.why.sound_v
    fused = "D2.lock.+ D2.lock.- short"
    assert fused in by_name(report, "D2")
    assert fused not in by_name(report, "D1")


@pytest.mark.parametrize("doors", [None, ("D2",)])
def test_what_the_door_next_door_shows_at_once_is_silent_nowhere(
    doors: tuple[str, ...] | None,
) -> None:
    """The magnet's minus joined to plus: it holds no more from that moment on, which everybody sees
    at D1; at D2 it is felt by way of the supply alone, where a battery is at its end."""
    report = faults(wired(FELT), doors, replace(ONE, only=frozenset({"D1.lock.blue to plus"})))
    found = {c.door: (c.effect, *c.also) for c in report.consequences}
    assert all(Effect.SILENT not in effects for effects in found.values())
    assert doors or Effect.OPENS in found["D1"]


def test_worst_cases_tell_what_nominal_figures_do_not() -> None:
    """A joint of 10 Ω before a magnet that holds down to 23 V: on a fresh battery it holds at
    nominal figures, not where joints are high and conductors hot."""
    keen = site(("D1", 1, 20)).replace("18 V}", "23 V}")
    nominal = by_name(faults(wired(keen), ask=ONE), "D1")
    worst = by_name(faults(wired(keen), ask=replace(ONE, worst=True)), "D1")
    assert nominal.items() <= worst.items()
    joint = "D1.lock.brown joint 10"
    assert joint not in nominal
    assert worst[joint].case is Case.LEAST_VOLTS
    assert worst[joint].effect is Effect.OPENS


def test_what_direct_current_does_not_show_is_named() -> None:
    strike = next(job for job in jobs().values() if "diode: diode" in job)
    report = faults(wired(strike), ask=ONE)
    assert "D1.diode diode open" in report.unseen
    assert "S1 fuse 1 bridged" in report.unseen


BARE = """
latchwork: 1
supplies: {S1: supply 12 V}
doors:
  D1:
    supply: S1
    out by: nothing mechanical
    power lost: unlocks
    lock: magnet 12 V
    exit: exit button
    wiring:
      - [S1.+, lead, exit.COM]
      - [exit.NC, lead, lock.+]
      - [lock.-, lead, S1.-]
"""


def test_a_door_where_nothing_is_lit_or_sounds() -> None:
    """A magnet through a button that breaks its feed: a welded button keeps people in (common
    practice, no source)."""
    effects = {c.fault: c.effect for c in faults(wired(BARE), ask=ONE).consequences}
    assert effects["D1.exit contact NC welded"] is Effect.TRAPS
    assert effects["D1.lock coil open"] is Effect.OPENS


def test_who_escapes_inward_is_told_of_at_a_door_that_says_so() -> None:
    """The same with its button outside: whoever comes from there has nothing else (common practice,
    no source). The coil that breaks lets them in."""
    outside = BARE.replace("exit: exit button", "exit: {part: exit button, place: outside}")
    both = outside.replace("    supply:", "    escape direction: both\n    supply:")
    told = {
        job: {
            c.fault
            for c in faults(wired(job), ask=ONE).consequences
            if Effect.INWARD in (c.effect, *c.also)
        }
        for job in (outside, both)
    }
    assert told[outside] == set()
    assert "D1.exit contact NC welded" in told[both]
    assert "D1.lock coil open" not in told[both]


def test_a_release_on_the_other_side_lets_nobody_out() -> None:
    """A dead controller leaves the release to those inside, where they reach it (common practice,
    no source)."""
    release = "release: release, double pole"
    assert release in MAGNET
    its = MAGNET.replace(release, 'release: {part: "release, double pole", place: WHERE}')
    told = {
        place: {
            c.effect
            for c in faults(
                wired(its.replace("WHERE", place)), ask=Ask("frozen off", attacks=False)
            ).consequences
        }
        for place in ("inside", "outside")
    }
    assert told == {"inside": {Effect.BLOCKS}, "outside": {Effect.TRAPS}}


def test_where_all_hangs_together_one_door_is_told_as_with_the_others() -> None:
    """Two doors on a shared release."""
    wiring = wired(RELEASED)
    both, alone = (faults(wiring, doors, ONE) for doors in (None, ["D1"]))
    assert alone.counts.points < both.counts.points
    assert alone.consequences == tuple(c for c in both.consequences if c.door == "D1")


def test_what_never_comes_to_rest_is_told_as_that() -> None:
    """A controller behind 100 Ω drops out as its relay pulls, and starts again (common practice,
    no source)."""
    job = MAGNET.replace("controller at: supply", "controller at: door").replace(
        "      lock: 12 m of 2 x 1.5 mm²", "      power: 12 m of 2 x 1.5 mm²"
    )
    report = faults(wired(job), ask=Ask("power joint 100", attacks=False, processes=1))
    assert report.counts.chatter
    restless = [c for c in report.consequences if c.why.restless]
    assert restless
    assert all("joint 100" in c.fault for c in restless)


TIRED = """
latchwork: 1
supplies:
  S1: {part: supply 12 V, limit: 3 A, battery: 1 x 12 V 7 Ah, outputs: {1: {fuse: 3.15 A}}}
usual: {controller: controller, controller at: door, exit: exit button, supply: S1 out 1}
doors:
  D1:
    lock: magnet 12 V, double
    out by: nothing mechanical
    runs: {power: 10 m of 2 x 1.5 mm², exit: 2 m of 4 x 0.22 mm²}
  D2:
    lock: strike 12 V fail-secure
    out by: lever
    runs: {power: 12 m of 2 x 1.0 mm², exit: 2 m of 4 x 0.22 mm²}
"""


def test_what_is_unsure_without_a_fault_has_no_silent_one() -> None:
    """On a battery near its end the strike is marginal; with the magnet's coil open it is sure of
    its volts. That is no fault of the strike's door (common practice, no source)."""
    site = wired(TIRED)
    rows = faults(site, ["D2"], Ask("D1.lock coil open", attacks=False, all_rows=True)).what_ifs
    assert any(row.begins == "unlocked" for row in rows)
    found = faults(site, ["D2"], ONE).consequences
    assert [c for c in found if c.effect is Effect.SILENT and c.fault == "D1.lock coil open"] == []
    for c in found:
        assert all(shown.state in ("locked", "unlocked") for shown in c.shows_in)


STRIKE_AND_MAGNET = """
latchwork: 1
supplies: {S1: supply 24 V}
doors:
  D1:
    supply: S1
    out by: lever
    lock: strike 24 V fail-secure, diode
    second lock: magnet 24 V
    controller: controller
    exit: exit button
    runs: {power: 20 m of 2 x 1.5 mm², exit: 4 m of 4 x 0.22 mm²}
"""


def test_what_bars_the_way_is_the_lock_that_no_lever_frees() -> None:
    """The relay stuck off leaves both locks locked: people draw the strike by the lever, and stand
    before the magnet. Float of 12 cells, 27.3 V, less 0.25 A in 0.5 Ω of core and joints."""
    ask = Ask("D1.controller relay stuck off", attacks=False, processes=1)
    (its,) = faults(wired(STRIKE_AND_MAGNET), ask=ask).consequences
    assert its.effect in (Effect.TRAPS, Effect.BLOCKS)
    assert (its.why.lock, its.why.faulty_state) == ("D1.second lock", "locked")
    assert its.why.faulty_v == pytest.approx(27.1, abs=0.2)
