"""Doors that share a supply, a controller or a fire contact.

The rows are written by hand: common practice, no source.
"""

from __future__ import annotations

from collections import Counter

from tests.wiring.sites import RELEASED, SUPPLIES, by_hand, drawn, same_node, wired

TWO_DOORS = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}}}}
devices: {C1: "controller, two doors"}
usual:
  lock: strike 24 V fail-secure
  reader: reader
  exit: button
  controller at: supply
doors:
  D1:
    supply: S1 out 1
    controller: C1 way 1
    runs: {lock: 20 m of 2 x 1.0 mm², exit: 20 m of 2 x 0.5 mm²}
  D2:
    supply: S1 out 2
    controller: C1 way 2
    runs: {lock: 25 m of 2 x 1.0 mm²}
"""

FIRE_AHEAD_OF_TWO = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}}}}
devices: {F1: fire relay}
usual: {lock: magnet 24 V, controller: "controller, reader outside", fire: F1}
doors:
  D1:
    supply: S1 out 1
    controller at: supply
    runs: {lock: 20 m of 2 x 1.0 mm²}
  D2:
    supply: S1 out 2
    controller at: door
    runs: {power: 25 m of 4 x 1.0 mm²}
"""


def test_two_doors_on_one_controller() -> None:
    wiring = wired("", TWO_DOORS)
    assert drawn(wiring, "D1") == by_hand(
        """
        S1.1      | lead        | C1.+
        S1.-      | lead        | C1.-
        S1.1      | lead        | C1.COM
        C1.NO     | lock brown  | lock.+
        S1.-      | lock blue   | lock.-
        C1.EXIT   | exit brown  | exit.NO
        C1.GND    | exit blue   | exit.COM
        C1.R+     | lead        | reader.+
        C1.R-     | lead        | reader.-
        C1.D0     | lead        | reader.D0
        C1.D1     | lead        | reader.D1
        """,
        "D1",
    )
    assert drawn(wiring, "D2") == by_hand(
        """
        S1.2      | lead        | C1.COM2
        C1.NO2    | lock brown  | lock.+
        S1.-      | lock blue   | lock.-
        C1.EXIT2  | lead        | exit.NO
        C1.GND    | lead        | exit.COM
        C1.R+     | lead        | reader.+
        C1.R-     | lead        | reader.-
        C1.D0_2   | lead        | reader.D0
        C1.D1_2   | lead        | reader.D1
        """,
        "D2",
    )
    assert wiring.troubles == ()


def test_a_shared_controller_is_fed_from_the_supply_that_is_said_to_feed_it() -> None:
    """Each lock stays on its door's; the controller's contacts are free of its own volts."""
    job = TWO_DOORS.replace(
        '"controller, two doors"', '{part: "controller, two doors", supply: S2}'
    )
    job = job.replace("2: {fuse: 1 A}}}", "2: {fuse: 1 A}}}, S2: supply 12 V")
    wiring = wired("", job)
    assert same_node(wiring, "S2.+", "C1.+")
    assert same_node(wiring, "S2.-", "C1.-")
    assert same_node(wiring, "S1.1", "C1.COM")
    assert same_node(wiring, "S1.2", "C1.COM2")


def test_the_tamper_loop_of_a_shared_controller_is_drawn_at_its_first_door_alone() -> None:
    """One input watches one loop: a second one beside it would hide that the first is open."""
    job = TWO_DOORS.replace(
        '"controller, two doors"', '{part: "controller, two doors", tamper terminal: input}'
    ).replace("reader: reader", "reader: {part: reader, tamper terminal: yes}")
    loops = [row.door for row in wired("", job).rows if "C1.TAMPER" in (row.start, row.end)]
    assert loops == ["D1"]


def test_a_lock_of_the_site_is_fed_from_the_supply_that_is_said_to_feed_it() -> None:
    """As a lock of the door is that says so itself: through the controller's relay."""
    wiring = wired(
        "",
        """
latchwork: 1
supplies: {S1: supply 24 V, S2: supply 24 V}
devices: {L1: {part: magnet 24 V, supply: S2}}
doors: {D1: {supply: S1, lock: L1, controller: controller}}
""",
    )
    assert same_node(wiring, "S2.+", "D1.controller.COM")
    assert same_node(wiring, "S2.-", "L1.-")
    assert same_node(wiring, "S1.+", "D1.controller.+")


def test_one_fire_contact_ahead_of_two_locks() -> None:
    """The first door's output feeds the contact; a third core brings the other door its feed."""
    wiring = wired("", FIRE_AHEAD_OF_TWO)
    assert drawn(wiring, "D1") == by_hand(
        """
        S1.1          | lead       | controller.+
        S1.-          | lead       | controller.-
        S1.1          | lead       | F1.COM
        F1.NO         | lead       | controller.COM
        controller.NC | lock brown | lock.+
        S1.-          | lock blue  | lock.-
        """,
        "D1",
    )
    assert drawn(wiring, "D2") == by_hand(
        """
        S1.2          | power brown | controller.+
        S1.-          | power blue  | controller.-
        F1.NO         | power black | controller.COM
        controller.NC | lead        | lock.+
        controller.-  | lead        | lock.-
        """,
        "D2",
    )


def test_doors_on_outputs_of_their_own_share_only_the_minus() -> None:
    wiring = wired(
        """
usual: {lock: strike 24 V fail-secure, controller: controller}
doors:
  D1: {supply: S1 out 1}
  D2: {supply: S1 out 2}
  D3: {supply: S1 out 2}
"""
    )
    assert not same_node(wiring, "D1.controller.+", "D2.controller.+")
    assert same_node(wiring, "D2.controller.+", "D3.controller.+")
    assert same_node(wiring, "D1.controller.-", "D2.controller.-")


def test_too_few_cores_are_told_and_what_fits_is_joined() -> None:
    """Two poles of a release need four cores: out and back for each."""
    wiring = wired(
        """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    release: release, double pole
    runs: {power: 12 m of 2 x 1.0 mm², release: 4 m of 3 x 0.75 mm²}
"""
    )
    assert [(t.code, t.leg, dict(t.figures)) for t in wiring.troubles] == [
        ("too few cores", "release", {"cable": "D1.release", "needed": 4, "available": 3})
    ]
    _, cores = drawn(wiring, "D1")
    assert len([core for core in cores if core.startswith("D1.release.")]) == 3


def test_what_waits_for_a_missing_core_is_not_told_as_left_open() -> None:
    """Magnets behind one fire relay: plus, minus and the relay's feed need three cores each."""
    wiring = wired(
        """
devices: {F1: fire relay}
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    fire: F1
    release: release, double pole
    runs: {power: 12 m of 2 x 1.0 mm², release: 4 m of 4 x 0.75 mm²}
"""
    )
    assert [(t.code, t.leg) for t in wiring.troubles] == [("too few cores", "power")]


def test_a_contact_that_would_join_two_locks_is_left_out_and_told() -> None:
    wiring = wired(
        "",
        FIRE_AHEAD_OF_TWO.replace("magnet 24 V", "strike 24 V fail-secure").replace(
            "usual: {", "usual: {fire alarm: unlocks, "
        ),
    )
    assert {t.code for t in wiring.troubles} == {"one contact for several locks"}
    assert not any("F1.NC" in (row.start, row.end) for row in wiring.rows)


def test_a_contact_that_serves_one_lock_closes_for_it() -> None:
    """A fire relay of the site that one door uses, and one with a pole for each of two doors."""
    strikes = FIRE_AHEAD_OF_TWO.replace("magnet 24 V", "strike 24 V fail-secure").replace(
        "usual: {", "usual: {fire alarm: unlocks, "
    )
    alone = wired("", strikes[: strikes.index("  D2:")])
    assert alone.troubles == ()
    assert same_node(alone, "F1.NC", "D1.controller.NO")
    each = strikes.replace("F1: fire relay", 'F1: "fire relay, double pole"')
    each = each.replace("fire: F1}", "}").replace("  D1:", "  D1:\n    fire: F1 way 1")
    wiring = wired("", each.replace("  D2:", "  D2:\n    fire: F1 way 2"))
    assert wiring.troubles == ()
    assert same_node(wiring, "F1.NC1", "D1.controller.NO")
    assert same_node(wiring, "F1.NC2", "D2.controller.NO")
    assert not same_node(wiring, "F1.NC1", "F1.NC2")


def test_a_supply_that_is_not_said_is_told() -> None:
    two = SUPPLIES + "  S2: supply 12 V\n"
    wiring = wired("doors: {D1: {lock: strike 24 V fail-secure, controller: controller}}", two)
    assert [t.code for t in wiring.troubles] == ["supply unsaid"]
    one = wired("doors: {D1: {lock: strike 24 V fail-secure, controller: controller}}")
    assert [t.code for t in one.troubles] == ["output unsaid"]
    assert same_node(one, "S1.1", "D1.controller.+")


def test_the_only_supply_feeds_a_shared_contact_even_where_no_door_names_it() -> None:
    wiring = wired(
        "",
        FIRE_AHEAD_OF_TWO.replace("    supply: S1 out 1\n", "").replace(
            "    supply: S1 out 2\n", ""
        ),
    )
    assert same_node(wiring, "S1.1", "F1.COM")


def test_a_device_that_nothing_could_be_joined_to_is_told() -> None:
    wiring = wired(
        """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    exit: "button, closed at rest"
    reader: reader
"""
    )
    told = {(t.code, t.figures["device"]) for t in wiring.troubles}
    assert told == {
        ("no such contact", "D1.exit"),
        ("nothing to join to", "D1.reader"),
    }
    assert not same_node(wiring, "S1.1", "D1.lock.+")


def test_what_one_door_wires_for_both_is_not_missed_at_the_other() -> None:
    """A fire relay in front of a release that both doors have: the first door's rows join it."""
    wiring = wired(RELEASED, "")
    assert wiring.troubles == ()
    ahead = [(row.start, row.end) for row in wiring.rows if row.start.startswith("F1.NO")]
    assert sorted(ahead) == [("F1.NO1", "R1.COM1"), ("F1.NO2", "R1.COM2")]


def test_a_contact_left_out_at_the_first_door_is_fed_at_the_next() -> None:
    """A fire contact opens: ahead of a magnet it takes the power away, and someone has to feed it.
    At a strike that current frees it has no place, so the strike's door brings it nothing."""
    wiring = wired(
        "",
        FIRE_AHEAD_OF_TWO.replace("usual: {", "usual: {fire alarm: unlocks, ").replace(
            "  D1:\n", "  D1:\n    lock: strike 24 V fail-secure\n"
        ),
    )
    assert same_node(wiring, "S1.2", "F1.COM")
    assert not same_node(wiring, "S1.1", "F1.COM")


# A magnet's fire contact stands in the plus, a motor lock's in the minus, and there is one.
IN_TWO_WAYS = """
devices: {F1: fire relay, T1: delay module}
usual: {fire: F1, controller: controller, timer: T1}
doors:
"""
ITS_DOORS = (
    "  D2: {supply: S1 out 2, lock: magnet 24 V}\n",
    "  D10: {supply: S1 out 1, lock: motor lock 24 V, out by: lever, fire alarm: stays locked}\n",
)


def test_the_order_of_doors_in_the_file_decides_nothing() -> None:
    """D2 comes before D10 whatever the file has first, as people count."""
    one, other = (wired(IN_TWO_WAYS + "".join(doors)) for doors in (ITS_DOORS, ITS_DOORS[::-1]))
    assert [*one.plan.doors] == [*other.plan.doors][::-1]
    assert Counter(map(repr, one.rows)) == Counter(map(repr, other.rows))
    assert Counter(map(repr, one.troubles)) == Counter(map(repr, other.troubles))
    assert [(r.door, r.start) for r in one.rows if r.end == "F1.COM"] == [("D10", "S1.-")]
