"""Where circuits meet, a fault is run at its own doors, and at others only where these feel it."""

from __future__ import annotations

import pytest

from latchwork.faults import Ask, faults
from latchwork.faults.model import Effect, Fault, FaultReport
from latchwork.faults.prepare import Prepared
from tests.truth.solved import wired
from tests.wiring.sites import RELEASED

ONE = Ask(attacks=False, poles=True, processes=1)
BEHIND_ONE_CONTACT = """
latchwork: 1
supplies: {S1: {part: supply 24 V, limit: 2 A, battery: 2 x 12 V 7 Ah}}
devices: {F1: fire relay}
usual:
  supply: S1
  lock: magnet 24 V
  controller: controller
  controller at: door
  exit: exit button
  release: release, double pole
  out by: nothing mechanical
  power lost: unlocks
  fire alarm: unlocks
  fire: F1
  runs: {power: 9 m of 4 x 1.0 mm², exit: 3 m of 4 x 0.22 mm², release: 2 m of 4 x 1.5 mm²}
doors: {D1: {}, D2: {}, D3: {}}
"""
"""A magnet, a release and a button at each door; all magnets behind one fire contact."""
TWO_DOORS = """
latchwork: 1
supplies: {S1: {part: supply 12 V, limit: 3 A, outputs: {1: {fuse: 3.15 A}}}}
devices: {F1: fire relay, C1: "controller, two doors", E1: exit button, R1: "release, double pole"}
usual: {supply: S1 out 1, exit: exit button, runs: {exit: 3 m of 4 x 0.22 mm²}}
doors:
  D1:
    controller: C1 way 1
    lock: strike 12 V fail-secure
    out by: lever
    runs: {lock: 40 m of 2 x 0.5 mm²}
  D2:
    controller: C1 way 2
    lock: magnet 12 V
    out by: nothing mechanical
    power lost: unlocks
    fire alarm: unlocks
    fire: F1
    exit: E1
    release: R1
    runs: {lock: 9 m of 2 x 1.0 mm², release: 2 m of 4 x 1.5 mm²}
  D3:
    controller: controller
    controller at: supply
    lock: magnet 12 V
    out by: nothing mechanical
    power lost: unlocks
    fire alarm: unlocks
    fire: F1
    exit: E1
    release: R1
    runs: {lock: 9 m of 2 x 1.0 mm², release: 2 m of 4 x 1.5 mm²}
"""
"""A controller for two of three doors; the third has a fire contact, a release and a button with
one of them; all are on one fuse."""

FOLLOWS = """
latchwork: 1
supplies: {S1: {part: supply 12 V, limit: 3 A}}
doors:
  D1:
    supply: S1
    lock: strike 12 V fail-secure
    out by: lever
    controller: controller
    controller at: supply
    exit: exit button
    runs: {lock: 9 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
  D2:
    supply: S1
    lock: strike 12 V fail-secure
    out by: lever
    runs: {lock: 9 m of 2 x 1.0 mm²}
    wiring:
      - [D1.controller.NO, lock brown, lock.+]
      - [lock.-, lock blue, S1.-]
"""
"""A second strike, of a door where nobody shows a card, on the contact that opens the first."""


def told(site: str, ask: Ask = ONE, doors: list[str] | None = None) -> FaultReport:
    """What is told of a site."""
    return faults(wired(site), doors, ask)


@pytest.mark.parametrize("site", [BEHIND_ONE_CONTACT, TWO_DOORS, RELEASED, FOLLOWS])
def test_it_tells_what_every_fault_at_every_door_tells(
    site: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Held against the plain way: nothing is left out."""
    few = told(site)

    def everywhere(self: Prepared, fault: Fault) -> frozenset[str]:
        return frozenset(self.cell.doors)

    monkeypatch.setattr(Prepared, "home", everywhere)
    every = told(site)
    assert few.consequences == every.consequences
    pairs = [set(report.pairs.pairs) if report.pairs else set() for report in (few, every)]
    assert pairs[0] == pairs[1]
    assert few.counts.points < every.counts.points


@pytest.mark.parametrize(
    ("fault", "at_own", "at_others"),
    [
        # A broken button core: no current goes otherwise than within the door (Kirchhoff).
        ("exit.brown open", 1, 0),
        # A dead short across the supply, or across what all magnets hang on, takes it from all.
        ("controller.+ controller.- short", 1, 2),
        ("lock coil short", 1, 2),
        # A part that all doors have is at each of them.
        ("F1 contact NO welded", 1, 0),
    ],
)
def test_where_a_fault_is_run(fault: str, at_own: int, at_others: int) -> None:
    """At each of three doors its own, then the others'; the door itself is one more each time."""
    asked = told(BEHIND_ONE_CONTACT, Ask(fault, attacks=False, processes=1))
    members = 3 * (1 + at_own) + (3 * (1 + at_others) if at_others else 0)
    assert asked.counts.points == 28 * members


def test_one_that_takes_the_current_from_the_others_is_told_there() -> None:
    """A coil that is a dead short behind the common contact: no magnet holds, mains or not."""
    found = {
        (c.door, c.effect)
        for c in told(BEHIND_ONE_CONTACT).consequences
        if c.fault == "D2.lock coil short"
    }
    assert found == {("D1", Effect.OPENS), ("D2", Effect.OPENS), ("D3", Effect.OPENS)}


def test_one_that_is_felt_only_as_somebody_comes_to_another_door_is_told_there() -> None:
    """The contact is open until a card is shown at D1: then D2's dead short is across both strikes
    (Kirchhoff)."""
    found = {c.door: c for c in told(FOLLOWS).consequences if c.fault == "D2.lock coil short"}
    assert found["D1"].effect is Effect.STOPS


@pytest.mark.parametrize("door", ["D1", "D2", "D3"])
def test_a_door_by_itself_is_told_as_with_the_others(door: str) -> None:
    whole = tuple(c for c in told(TWO_DOORS).consequences if c.door == door)
    assert told(TWO_DOORS, doors=[door]).consequences == whole
