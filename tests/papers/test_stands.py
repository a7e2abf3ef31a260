"""Where one stands for each connection, and between what each cable runs. Written down by hand."""

from __future__ import annotations

from tests.papers.made import DEPOT, source_from

INTERLACED = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}}
doors:
  D1:
    lock: magnet 24 V
    controller: controller
    controller at: supply
    release: release, double pole
    supply: S1 out 1
    runs: {lock: 20 m of 2 x 1.5 mm², release: 20 m of 4 x 1.5 mm²}
"""


def test_a_tapped_trunk_ends_at_its_ends() -> None:
    """The taps on its way are at neither; its far end is open."""
    cables = {row.id: row for row in source_from(DEPOT)[0].schedules.cables}
    assert (cables["trunk"].start, cables["trunk"].end) == ("S1", "")


def test_a_controller_beside_a_supply_that_the_door_does_not_name_stands_there() -> None:
    assert {
        r.at for r in source_from(DEPOT)[0].schedules.connections if r.device == "D2.controller"
    } == {"S1"}


def test_a_joint_between_cables_stands_where_they_end() -> None:
    """The cables of lock and release both end at the supply: so does what joins them."""
    source, _ = source_from(INTERLACED)
    stands = {(r.stand, r.at) for r in source.schedules.connections if r.part == "joint"}
    assert stands == {("supply", "S1")}


def test_one_stands_outside_at_what_is_out_in_the_weather() -> None:
    job = INTERLACED.replace(
        "release: release, double pole", "contact: {part: door contact, place: weather}"
    )
    source, _ = source_from(job)
    stands = {(r.stand, r.at) for r in source.schedules.connections if r.device == "D1.contact"}
    assert stands == {("outside", "D1")}
