"""What is listed for a small door, counted by hand from its wiring."""

from __future__ import annotations

from collections import Counter

import pytest

from latchwork.faults import Ask, FaultKind, faults
from latchwork.faults.prepare import prepare
from latchwork.faults.sections import sections, wiring_of
from tests.faults.known import jobs
from tests.truth.solved import wired

MAGNET, ALONE, *_ = jobs().values()


def listed(job: str) -> Counter[str]:
    (cell,) = prepare(wired(job))
    return Counter(f.kind.value for f in cell.cell.faults)


def test_every_conductor_opens_and_has_a_bad_joint_three_times() -> None:
    wiring = wired(ALONE)
    wires = len(wiring.conductors) + len(wiring.leads)
    count = listed(ALONE)
    assert count["open"] == wires
    assert count["joint"] == 3 * wires


def test_each_core_may_touch_what_runs_beside_it() -> None:
    """Lock run of two cores: one pair. Four untwisted cores, two of them used: one pair. Screws
    side by side and wired: + and -, + and COM, - and COM or NC and EXIT, EXIT and GND at the
    controller, + and - at the lock, COM and NO at the button."""
    (cell,) = prepare(wired(ALONE))
    shorts = {f.id for f in cell.cell.faults if f.kind is FaultKind.SHORT}
    assert {"D1.lock.brown D1.lock.blue short", "D1.exit.white D1.exit.brown short"} <= shorts
    assert {"D1.lock.+ D1.lock.- short", "D1.exit.COM D1.exit.NO short"} <= shorts
    assert {"D1.controller.EXIT D1.controller.GND short"} <= shorts


def test_outputs_stand_side_by_side_by_their_numbers() -> None:
    """Whatever order the file has them in; the minus comes behind the last."""
    turned = JOINED.replace("1: {fuse: 1 A}, 2: {fuse: 1 A}", "2: {fuse: 1 A}, 1: {fuse: 1 A}")
    assert turned != JOINED
    screws = [t.name for t in wired(turned).plan.devices["S1"].part.terminals]
    assert screws[:3] == ["1", "2", "-"]


def test_each_pole_of_a_release_by_itself() -> None:
    (cell,) = prepare(wired(MAGNET))
    names = {f.id for f in cell.cell.faults}
    for pole in (1, 2):
        for what in ("welded", "stuck open"):
            assert f"D1.release contact NC{pole} {what}" in names


def test_names_are_all_different() -> None:
    for job in jobs().values():
        (cell,) = prepare(wired(job))
        names = [f.id for f in cell.cell.faults]
        assert len(names) == len(set(names))


def touches(job: str, fault: str) -> set[str]:
    """The two nodes that a fault joins, its section run by itself as it is in a whole run."""
    (cell,) = prepare(wiring_of(sections(wired(job))), wanted=Ask(fault).wants)
    (found,) = cell.cell.faults
    place = cell.cell.network.linear.index(found.edits[0].name)
    a, b, _ = cell.cell.network.shape.linear[place]
    nodes = {n: name for name, n in cell.cell.network.nodes.items()}
    return {nodes[a], nodes[b]}


def test_a_core_touches_the_plus_behind_its_own_fuse() -> None:
    """Common practice, no source: what runs to a door comes from its output, not from the bus."""
    assert "S1.1" in touches(ALONE, "exit.white to plus")


JOINED = """
latchwork: 1
supplies:
  S1: {part: supply 24 V, outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}}}
  S2: {part: supply 24 V}
  T1: {part: transformer 24 V AC}
cables: {trunk: 20 m of 2 x 1.0 mm²}
taps: {K1: {on: trunk, at: 4 m}}
wiring:
  - [S1.-, lead, S2.-]
  - [S1.-, lead, T1.A2]
  - [S2.+, trunk brown, open]
  - [S2.-, trunk blue, open]
usual: {lock: strike 24 V fail-secure, controller: controller, exit: exit button}
doors:
  D1: {supply: S1, runs: {exit: 3 m of 2 x 0.22 mm²}}
  D2:
    supply: S2
    runs: {exit: 3 m of 2 x 0.22 mm²}
    wiring: {power: [[K1.brown, lead, controller.+], [K1.blue, lead, controller.-]]}
  D3:
    supply: T1
    lock: strike 24 V AC fail-secure
    controller: none
    runs: {exit: 3 m of 2 x 0.22 mm², lock: 3 m of 2 x 1.0 mm²}
"""


@pytest.mark.parametrize(
    ("fault", "pole"),
    [
        ("D1.exit.white to plus", "S1.1"),
        ("D2.exit.white to plus", "S2.+"),
        ("D2.exit.white to minus", "S2.-"),
        ("D3.lock.brown to plus", "T1.A1"),
        ("D3.lock.brown to minus", "T1.A2"),
        ("trunk.blue#2 to plus", "S2.+"),
        ("trunk.brown#2 to minus", "S2.-"),
    ],
)
def test_a_core_touches_what_feeds_it_where_supplies_are_joined(fault: str, pole: str) -> None:
    """As above. An output that the file does not name is the first, as it is wired; a core of no
    door is fed by what its cable is joined to."""
    assert pole in touches(JOINED, fault)


SPLIT = """
latchwork: 1
supplies:
  S1: {part: supply 12 V, outputs: {1: {fuse: 1 A}}}
  S2: {part: supply 24 V, outputs: {1: {fuse: 1 A}}}
doors:
  D1:
    supply: S1 out 1
    lock: {part: magnet 24 V, supply: S2 out 1}
    controller: controller
    exit: exit button
    release: release, double pole
    runs: {lock: 9 m of 2 x 1.0 mm², release: 3 m of 4 x 1.0 mm², exit: 3 m of 2 x 0.22 mm²}
"""


@pytest.mark.parametrize(
    ("fault", "pole"),
    [
        # From S2 through the release and the controller's relay to the lock, and back to it.
        ("lock.brown to plus", "S2.1"),
        ("release.blue to plus", "S2.1"),
        ("lock.blue to plus", "S2.1"),
        ("lock.brown to minus", "S2.-"),
        # An input of the controller, which S1 feeds.
        ("exit.white to plus", "S1.1"),
        ("exit.brown to minus", "S1.-"),
    ],
)
def test_a_core_touches_what_feeds_its_circuit_where_the_lock_has_its_own(
    fault: str, pole: str
) -> None:
    """As above: a lock on a supply of its own is held by that one's plus."""
    assert pole in touches(SPLIT, fault)


SHARED = """
latchwork: 1
supplies: {S1: supply 12 V, S2: supply 12 V}
devices: {C1: {part: "controller, two doors", supply: S2}}
usual: {supply: S1, lock: strike 12 V fail-secure, controller at: supply, exit: exit button}
doors:
  D1: {controller: C1 way 1, runs: {lock: 9 m of 2 x 1.0 mm², exit: 3 m of 2 x 0.22 mm²}}
  D2: {controller: C1 way 2, runs: {lock: 9 m of 2 x 1.0 mm², exit: 3 m of 2 x 0.22 mm²}}
"""


@pytest.mark.parametrize(
    ("fault", "pole"), [("D2.exit.white to minus", "S2.-"), ("D2.lock.brown to plus", "S1.+")]
)
def test_a_core_touches_what_feeds_its_circuit_where_a_shared_controller_has_its_own(
    fault: str, pole: str
) -> None:
    """As above: an input's ground is the controller's minus, which S2 holds."""
    assert pole in touches(SHARED, fault)


def test_a_supply_that_a_lock_is_said_to_have_is_there_where_no_wire_leads_to_it() -> None:
    """The file says S2, its rows S1: what is wired counts, and nothing stops at the name."""
    lead, magnet = "    release: release, double pole\n", "lock: {part: magnet 24 V, "
    job = SPLIT.replace(lead, "").replace(magnet, "lock: {part: magnet 12 V, ")
    job = job.replace("release: 3 m of 4 x 1.0 mm², ", "")
    job += """\
    wiring:
      lock:
        - [S1.1, lead, controller.COM]
        - [controller.NC, lock brown, lock.+]
        - [lock.-, lock blue, S1.-]
"""
    assert "S1.1" in touches(job, "lock.brown to plus")


def test_cores_touch_each_other_at_their_far_end() -> None:
    """Most of the cable is before the short then: the current that a fuse has to blow with is the
    least (common practice, no source)."""
    (cell,) = prepare(wired(ALONE), wanted=Ask("lock.brown lock.blue short").wants)
    (fault,) = cell.cell.faults
    place = cell.cell.network.linear.index(fault.edits[0].name)
    a, b, _ = cell.cell.network.shape.linear[place]
    assert {a, b} == {cell.cell.network.nodes[f"D1.lock.{screw}"] for screw in "+-"}


EARTHED = """
latchwork: 1
supplies:
  S1: {part: "supply 24 V, minus earthed", limit: 5 A}
  S2: {part: supply 24 V, limit: 5 A}
doors:
  D1:
    supply: S1
    out by: lever
    lock: strike 24 V fail-secure
    controller: controller
    runs: {power: 5 m of 2 x 1.0 mm²}
  D2:
    supply: S2
    out by: lever
    lock: strike 24 V fail-secure
    controller: controller
    runs: {power: 5 m of 2 x 1.0 mm²}
wiring:
  - [S1.-, lead, S2.-]
"""


def test_earth_where_it_would_matter() -> None:
    """One supply's minus is earthed: for its own door earth is minus, for the other it is not."""
    (cell,) = prepare(wired(EARTHED))
    earthed = {f.subjects[0] for f in cell.cell.faults if f.kind is FaultKind.TO_EARTH}
    assert earthed == {"D2.power.brown", "D2.power.blue"}


@pytest.mark.parametrize("word", ["joint", "D1.exit", "contact nc welded"])
def test_only_faults_that_are_asked_for(word: str) -> None:
    (cell,) = prepare(wired(ALONE), wanted=Ask(word).wants)
    names = [f.id.casefold() for f in cell.cell.faults]
    assert names
    assert all(w in name for w in word.casefold().split() for name in names)
    report = faults(wired(ALONE), ask=Ask(word, attacks=False))
    assert report.listed == len(names)


def test_a_plan_is_wired_as_it_comes() -> None:
    wiring, ask = wired(ALONE), Ask("exit open", attacks=False)
    assert faults(wiring.plan, ask=ask) == faults(wiring, ask=ask)


def test_a_short_that_was_found_has_no_joints_of_its_own() -> None:
    """What touches by mistake is not held by a screw: it neither comes off nor gets a bad joint."""
    wiring = wired(f"{ALONE}    found:\n      - {{short: [lock.+, lock.-], resistance: 2 ohm}}\n")
    (bridge,) = wiring.bridges
    (cell,) = prepare(wiring)
    assert [f.id for f in cell.cell.faults if f.subjects == (bridge.id,)] == []
    assert listed(ALONE)["open"] == sum(f.kind is FaultKind.OPEN for f in cell.cell.faults)
