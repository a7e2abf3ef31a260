"""Where circuits meet, a fault is run at its own doors, and at others only where these feel it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from latchwork.faults import Ask, faults
from latchwork.faults.beyond import Beyond, Wire, concerned
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
MAGNET = """\
    lock: magnet 12 V
    out by: nothing mechanical
    power lost: unlocks
    fire alarm: unlocks
    fire: F1
    exit: E1
    release: R1
    runs: {lock: 9 m of 2 x 1.0 mm², release: 2 m of 4 x 1.5 mm²}
"""
TWO_DOORS = f"""
latchwork: 1
supplies: {{S1: {{part: supply 12 V, limit: 3 A, outputs: {{1: {{fuse: 3.15 A}}}}}}}}
devices:
  {{F1: fire relay, C1: "controller, two doors", E1: exit button, R1: "release, double pole"}}
usual: {{supply: S1 out 1, exit: exit button, runs: {{exit: 3 m of 4 x 0.22 mm²}}}}
doors:
  D1:
    controller: C1 way 1
    lock: strike 12 V fail-secure
    out by: lever
    runs: {{lock: 40 m of 2 x 0.5 mm²}}
  D2:
    controller: C1 way 2
{MAGNET}  D3:
    controller: controller
    controller at: supply
{MAGNET}"""
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

CHAINED = """
latchwork: 1
supplies: {S1: {part: supply 12 V, limit: 3 A}}
usual:
  supply: S1
  lock: strike 12 V fail-secure
  out by: lever
  controller: controller
  controller at: supply
  exit: exit button
  runs: {lock: 30 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
doors:
  D1: {}
  D2:
    wiring:
      lock:
        - [S1.+, lead, controller.COM]
        - [controller.NO, lock brown, lock.+]
        - [lock.-, lock blue, D1.lock.-]
"""
"""The second strike has its minus from the first."""
THROUGH = CHAINED.replace(
    "  D1: {}\n",
    """\
  D1:
    joints: {J1: {place: box over the door, made: screw block}}
    wiring:
      lock:
        - [S1.+, lead, controller.COM]
        - [controller.NO, lock brown, lock.+]
        - [lock.-, lead, J1]
        - [J1, lock blue, S1.-]
""",
)
"""The same, and between the first strike and its core a joint where nothing of the second is."""
NO_LOCK = """
latchwork: 1
supplies: {S1: {part: supply 12 V, limit: 3 A, outputs: {1: {fuse: 3.15 A}}}}
usual: {supply: S1 out 1, controller: controller, controller at: supply, exit: exit button}
doors:
  D1:
    lock: strike 12 V fail-secure
    out by: lever
    runs: {lock: 9 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
  D2: {out by: lever, runs: {exit: 3 m of 4 x 0.22 mm²}}
"""
"""Behind one fuse with a strike a controller that has none."""
ON_EDGE = """
latchwork: 1
supplies:
  S1: {part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah, outputs: {1: {fuse: 1.0 A}}}
usual:
  supply: S1 out 1
  lock: strike 24 V fail-secure
  out by: lever
  controller: controller
  controller at: supply
  exit: exit button
  runs: {exit: 3 m of 4 x 0.22 mm²}
doors:
  D1: {runs: {lock: 136 m of 2 x 1.0 mm²}}
  D2: {runs: {lock: 9 m of 2 x 1.0 mm²}}
"""
"""Two strikes behind one fuse; with the battery at its end the first has 20.41 V, and picks up at
85 % of 24 V, 20.40 V."""

SITES = [BEHIND_ONE_CONTACT, TWO_DOORS, RELEASED, FOLLOWS, CHAINED, THROUGH, NO_LOCK, ON_EDGE]


def told(site: str, ask: Ask = ONE, doors: list[str] | None = None) -> FaultReport:
    """What is told of a site."""
    return faults(wired(site), doors, ask)


@pytest.mark.parametrize("site", SITES)
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
    assert few.counts.points <= every.counts.points


@pytest.mark.parametrize(
    ("site", "fault", "at_own", "at_others"),
    [
        # A broken button core: no current goes otherwise than within the door (Kirchhoff).
        (BEHIND_ONE_CONTACT, "exit.brown open", 3, 0),
        # A dead short across the supply, or across what all magnets hang on, takes it from all.
        (BEHIND_ONE_CONTACT, "controller.+ controller.- short", 3, 3 * 2),
        (BEHIND_ONE_CONTACT, "lock coil short", 3, 3 * 2),
        # A part that all doors have is at each of them.
        (BEHIND_ONE_CONTACT, "F1 contact NO welded", 3, 0),
        # In the minus of both, and in that of the second alone; neither has current at rest.
        (CHAINED, "D1.lock.blue open", 2, 0),
        (CHAINED, "lock.brown open", 2, 0),
    ],
)
def test_where_a_fault_is_run(site: str, fault: str, at_own: int, at_others: int) -> None:
    """At its own doors, then at others; a door itself is one more each time it is run."""
    doors = len(wired(site).plan.doors)
    asked = told(site, Ask(fault, attacks=False, processes=1))
    members = at_own + doors + at_others + (doors if at_others else 0)
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


@pytest.mark.parametrize("site", [CHAINED, THROUGH])
def test_one_in_the_way_of_another_doors_current_is_told_there(site: str) -> None:
    """Nothing flows until a strike is on: then 100 Ω is in series with either (Ohm)."""
    joint = [c for c in told(site).consequences if c.fault == "D1.lock.blue joint 100"]
    assert {(c.door, c.effect) for c in joint} == {("D1", Effect.STOPS), ("D2", Effect.STOPS)}


def test_one_at_a_door_without_a_lock_is_told_where_there_is_one() -> None:
    """A dead short behind the fuse that both have: the fuse blows (common practice, no source)."""
    short = "D2.controller.+ D2.controller.- short"
    found = [c for c in told(NO_LOCK).consequences if c.fault == short]
    assert [(c.door, c.effect) for c in found] == [("D1", Effect.STOPS)]


def test_one_that_takes_the_last_hundredth_of_a_volt_is_told_there() -> None:
    """What the second strike draws lowers the fuse's end by some 20 mV (Ohm: 0.125 A on 0.19 Ω of
    supply, battery and fuse), and the first has 10 mV to spare."""
    found = {c.door: c for c in told(ON_EDGE).consequences if "D2.controller relay" in c.fault}
    assert found["D1"].effect is Effect.STOPS
    assert 20.40 < found["D1"].why.sound_v < 20.42
    assert found["D1"].why.faulty_v < 20.40


@pytest.mark.parametrize("door", ["D1", "D2", "D3"])
def test_a_door_by_itself_is_told_as_with_the_others(door: str) -> None:
    whole = tuple(c for c in told(TWO_DOORS).consequences if c.door == door)
    assert told(TWO_DOORS, doors=[door]).consequences == whole


BOTH, ONE_ONLY = frozenset(("D1", "D2")), frozenset(("D1",))


@pytest.mark.parametrize(
    ("volts", "known", "concerned_by"),
    [
        # Both ends of D2's core are moved alike by 0.9 V: no current is altered in it (Ohm).
        ((0.9, 0.9), ONE_ONLY, set()),
        ((1.1, 1.1), ONE_ONLY, {"D2"}),
        # 0.2 V on 10 Ω are 20 mA more, 0.05 V are 5 mA.
        ((0.2, 0.0), ONE_ONLY, {"D2"}),
        ((0.05, 0.0), ONE_ONLY, set()),
        # What happens at D2 in the same way was seen there.
        ((5.0, 0.0), BOTH, set()),
    ],
)
def test_whose_faults_bear_on_what_is_done_at_a_door(
    volts: tuple[float, float], known: frozenset[str], concerned_by: set[str]
) -> None:
    """A node of both doors, and a core of D2's from it to one of its own; nobody at D1, then
    somebody."""
    its = Beyond(
        {},
        ((0, BOTH), (1, frozenset(("D2",)))),
        (Wire(0, 1, 10.0, frozenset(("D2",))),),
        {"D1": (BOTH, known), "D2": (BOTH,)},
        {"D1": ((1, 0),), "D2": ()},
        {"D1": (), "D2": ()},
    )
    solved: Any = _Volts(volts)
    assert concerned(solved, its, "D1", 0) == concerned_by


class _Volts:
    """Two situations that were solved: at first both nodes have 12 V."""

    scripts = (SimpleNamespace(columns=(0, 1)),)

    def __init__(self, more: tuple[float, float]) -> None:
        self._volts = np.array([[12.0, 12.0 + more[0]], [12.0, 12.0 + more[1]]])

    def at(self, name: str, _: object, situations: np.ndarray, *, held: bool) -> np.ndarray:
        """As of what was solved."""
        assert name == "volts"
        return self._volts[:, situations]


def test_what_is_known_to_be_felt_at_a_door_is_run_there_alone() -> None:
    """The same is told there as where every fault is run at its own doors first: of a fault at
    another door one point for each of the 28 situations, not two."""
    plain = told(BEHIND_ONE_CONTACT, Ask(attacks=False, processes=1), ["D1"])
    felt = frozenset(c.fault for c in plain.consequences if c.effect is Effect.OPENS)
    elsewhere = {f for f in felt if f.startswith(("D2.", "D3."))}
    assert elsewhere
    few, more = (
        told(BEHIND_ONE_CONTACT, Ask(attacks=False, only=felt, here=h, processes=1), ["D1"])
        for h in (True, False)
    )
    assert {(c.fault, c.effect) for c in few.consequences} == {
        (c.fault, c.effect) for c in more.consequences
    }
    assert few.counts.points == (1 + len(felt)) * 28
    assert more.counts.points >= few.counts.points + len(elsewhere) * 28
