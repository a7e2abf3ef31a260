"""Rows that the file writes: single legs, whole doors, taps, joints, contacts by what they do."""

from __future__ import annotations

import pytest

from latchwork.job import JobErrors
from tests.wiring.sites import SUPPLIES, by_hand, drawn, same_node, wired

TRUNK = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.6 A}}}}
cables:
  trunk: 46 m of 2 x 2.5 mm²
taps:
  K1: {on: trunk, at: 21 m, place: terminal box over the side door}
wiring:
  - [S1.1, trunk brown, open]
  - [S1.-, trunk blue,  open]
doors:
  D3:
    lock: strike 24 V fail-secure
    controller: controller
    exit: button
    runs: {exit: 6 m of 4 x 0.22 mm²}
    wiring:
      power:
        - [K1.brown, lead, controller.+]
        - [K1.blue,  lead, controller.-]
"""

WHOLE = """
doors:
  D8:
    lock: strike 24 V fail-secure
    controller: controller
    cables: {main: 31 m of category cable}
    joints: {J1: {place: ceiling box, made: screw block}}
    wiring:
      - [S1.1,          lead,                                controller.+]
      - [S1.-,          lead,                                controller.-]
      - [S1.1,          lead,                                controller.COM]
      - [controller.NO, main blue + main orange,             J1]
      - [J1,            lead,                                lock.+]
      - [lock.-,        main blue-white + main orange-white, S1.-]
"""


def test_a_replaced_leg_leaves_the_others_standard() -> None:
    wiring = wired("", TRUNK)
    assert drawn(wiring, "D3") == by_hand(
        """
        K1.brown        | lead       | controller.+
        K1.blue         | lead       | controller.-
        controller.+    | lead       | controller.COM
        controller.NO   | lead       | lock.+
        controller.-    | lead       | lock.-
        controller.EXIT | exit white | exit.NO
        controller.GND  | exit brown | exit.COM
        """,
        "D3",
    )
    assert wiring.troubles == ()


def test_a_tap_splits_its_cable_and_the_far_end_stays_open() -> None:
    stretches = [(c.id, c.start, c.end, c.length_m.value) for c in wired("", TRUNK).conductors[:4]]
    assert stretches == [
        ("trunk.brown", "S1.1", "K1.brown", 21.0),
        ("trunk.brown#2", "K1.brown", "trunk.brown@2", 25.0),
        ("trunk.blue", "S1.-", "K1.blue", 21.0),
        ("trunk.blue#2", "K1.blue", "trunk.blue@2", 25.0),
    ]


def test_a_tap_is_measured_from_the_end_that_is_named() -> None:
    text = TRUNK.replace("at: 21 m", "at: 21 m from S1")
    assert wired("", text).conductors[0].length_m.value == 21.0
    turned = text.replace("[S1.1, trunk brown, open]", "[open, trunk brown, S1.1]").replace(
        "[S1.-, trunk blue,  open]", "[open, trunk blue, S1.-]"
    )
    brown = {c.end: c.length_m.value for c in wired("", turned).conductors[:2]}
    assert brown == {"K1.brown": 25.0, "S1.1": 21.0}


def test_two_cores_are_one_conductor() -> None:
    wiring = wired(WHOLE)
    assert wiring.arrangement == {"D8": "own wiring"}
    ends = {c.id: {c.start, c.end} for c in wiring.conductors}
    assert ends["D8.main.blue"] == ends["D8.main.orange"] == {"D8.controller.NO", "D8.J1"}
    assert ends["D8.main.blue-white"] == ends["D8.main.orange-white"] == {"D8.lock.-", "S1.-"}


def test_a_cable_has_its_ends_where_leads_say_that_things_stand_together() -> None:
    """Rows run either way; controller and supply stand together, so do lock and joint."""
    starts = {c.core: c.start for c in wired(WHOLE).conductors}
    assert starts["blue"] == "D8.controller.NO"
    assert starts["blue-white"] == "S1.-"


REPLACED_RELEASE = """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    release: release
    wiring:
      release:
"""


def test_a_release_that_only_signals_leaves_the_lock_fed() -> None:
    wiring = wired(
        REPLACED_RELEASE
        + """
        - [controller.EXIT, lead, release.NO]
        - [controller.GND,  lead, release.COM]
"""
    )
    assert same_node(wiring, "D1.controller.+", "D1.controller.COM")


def test_a_release_written_into_the_feed_is_not_bridged() -> None:
    wiring = wired(
        REPLACED_RELEASE
        + """
        - [controller.+, lead, release.COM]
        - [release.NC,   lead, controller.COM]
"""
    )
    assert not same_node(wiring, "D1.controller.+", "D1.controller.COM")


@pytest.mark.parametrize(
    ("controller", "deed", "terminal"),
    [
        ("controller", "closed while nobody is granted", "NC"),
        ("controller", "closed while granted", "NO"),
        ("controller, relay energised when idle", "closed while nobody is granted", "NO"),
        ("controller, relay energised when idle", "closed while granted", "NC"),
    ],
)
def test_a_contact_by_what_it_does(controller: str, deed: str, terminal: str) -> None:
    wiring = wired(
        f"""
doors:
  D1:
    lock: magnet 24 V
    controller: "{controller}"
    wiring:
      - [controller.{deed}, lead, lock.+]
"""
    )
    assert [row.start for row in wiring.rows] == [f"D1.controller.{terminal}"]


def test_everything_unknown_is_told_at_once_with_its_line() -> None:
    job = """
doors:
  D1:
    lock: magnet 24 V
    controller: controller
    cables: {main: 31 m of 2 x 1.0 mm²}
    wiring:
      - [controller.NOO, lead, lock.+]
      - [controller.NC, main browm, lock.+]
      - [S1.1, main brown, lock.+]
      - [S1.1, main brown, lock.-]
    found:
      - {part: controller, state: relay stuck onn}
      - {break: main blue, at: 40 m}
      - {moved: main blue, from: lock.-, to: lock.+}
"""
    with pytest.raises(JobErrors) as caught:
        wired(job)
    first = SUPPLIES.count("\n")
    told = [(p.line - first, p.code, p.found) for p in caught.value.problems]
    assert told == [
        (8, "terminal.unknown", "NOO"),
        (9, "core.unknown", "D1.main browm"),
        (11, "core.twice", "D1.main.brown a second time"),
        (13, "found.state", "relay stuck onn"),
        (14, "cable.beyond", "40 m along D1.main"),
        (15, "found.not-there", "D1.lock.-"),
    ]
    assert "the nearest is NO" in caught.value.problems[0].expected
    assert "brown" in caught.value.problems[1].expected


def states(*found: str) -> str:
    """A door with these states of its parts."""
    lines = "".join(f"      - {{part: {line}}}\n" for line in found)
    return (
        "doors:\n  D1:\n    supply: S1 out 1\n    lock: strike 24 V fail-secure\n"
        f"    controller: controller\n    found:\n{lines}"
    )


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("lock, state: coil open", "lock, state: coil short"),
        ("controller, state: relay stuck on", "controller, state: relay stuck off"),
        # One blade lies at one of its two contacts.
        ("controller, state: contact NO welded", "controller, state: contact NC welded"),
        ("S1, state: regulator low", "S1, state: regulator high"),
    ],
)
def test_two_states_that_a_part_cannot_be_in_at_once_are_refused(one: str, other: str) -> None:
    """Whichever is written first: what is found has no order."""
    for pair in ((one, other), (other, one)):
        with pytest.raises(JobErrors) as caught:
            wired(states(*pair))
        (told,) = caught.value.problems
        assert (told.code, told.found) == ("found.state", pair[1].rpartition(": ")[2])
        assert pair[0].rpartition(": ")[2] in told.expected


def test_what_is_found_twice_is_found_once_and_what_goes_together_stands() -> None:
    twice = wired(states("lock, state: coil open", "lock, state: coil open"))
    assert [state.state for state in twice.states] == ["coil open"]
    both = wired(
        states("controller, state: contact NO welded", "controller, state: controller dead")
    )
    assert [state.state for state in both.states] == ["contact NO welded", "controller dead"]


def test_a_leg_that_the_file_says_is_not_missed_as_arranged() -> None:
    """A door contact that opens when shut cannot watch its door as arranged; where the file has
    rows of its own for that, nothing is missing."""
    door = """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    contact: door contact, open when shut
    {more}
"""
    arranged = wired(door.replace("{more}", ""))
    assert [t.code for t in arranged.troubles] == ["no such contact"]
    rows = "wiring: {contact: [[controller.GND, lead, contact.1]]}"
    assert wired(door.replace("{more}", rows)).troubles == ()
