"""What could hurt carries its caution on the sheet that asks for it."""

from __future__ import annotations

from typing import cast

import pytest

from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.content.people import guides
from latchwork.papers.content.power import lid_sheets
from latchwork.papers.pack import pack_pdf
from tests.papers.made import DAY, demo_source, source_from, text_of

SHUT_IN = """
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah, outputs: {1: {fuse: 1.0 A}}}}
doors:
  D1:
    out by: lever
    lock: bolt 24 V fail-secure
    controller: controller
    controller at: door
    supply: S1 out 1
    runs: {power: 10 m of 2 x 1.0 mm²}
"""


def pages(text: str, part: str) -> str:
    source, version = source_from(text) if text else demo_source()
    return " ".join(text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), [part])))


@pytest.mark.parametrize("part", ["tests", "service"])
def test_tests_say_what_to_see_to_first(part: str) -> None:
    """Trade practice: people told, the panel in test by its own people, mains by who may."""
    told = pages("", part)
    assert "tell whoever uses the door or gets its alarms" in told
    assert "only with those who look after it" in told
    assert "stay off the mains side" in told
    assert "go only after the door has opened from inside" in told


def test_a_test_sheet_says_what_it_leaves_out() -> None:
    """Its trials and readings are on mains, on a fresh battery and without power (common practice,
    no source): a weak battery, and a relay that sticks in a timed unlock, pass all of them."""
    told = pages(SHUT_IN, "tests")
    assert "Not tried: battery near its end, timed unlock, open case, locked out." in told


def test_a_door_without_the_panel_says_nothing_of_it() -> None:
    assert "panel" not in pages(SHUT_IN, "tests")


def test_nobody_is_shut_in_to_try_it() -> None:
    """A bolt that only current draws has no way out by its lever: with all power off, none."""
    assert "Mains off and battery off locked; out in no ordinary way: see that nobody" in pages(
        SHUT_IN, "tests"
    )


def test_who_is_shut_in_without_power_is_told_on_the_lid_and_in_the_guide() -> None:
    """The same bolt: the lid had no word, and the guide "You still get out in no ordinary way"."""
    source, _ = source_from(SHUT_IN)
    (lid,), (guide,) = lid_sheets(source), guides(source)
    hold = "Hold open until power is back, as without it nobody gets out in the ordinary way: D1."
    assert hold in cast("list[str]", lid["order"])
    assert "there is no ordinary way out of it" in str(guide["parts"])
    assert "You still get out" not in str(guide["parts"])


def test_a_release_that_feeds_the_lock_is_not_said_to_cut_its_power() -> None:
    """The same bolt: current draws it, so its release closes, and does nothing without power."""
    (guide,) = guides(source_from(SHUT_IN + "    release: release, double pole\n")[0])
    assert "It works only while there is power." in str(guide["parts"])
    assert "cuts the lock's power" not in str(guide["parts"])


def test_a_door_that_nobody_leaves_by_is_not_held_open_nor_left_by_every_month() -> None:
    """A cabinet behind the same bolt (common practice, no source)."""
    cabinet = SHUT_IN.replace("    out by:", "    escape direction: none\n    out by:")
    assert cabinet != SHUT_IN
    source, _ = source_from(cabinet)
    (lid,), (guide,) = lid_sheets(source), guides(source)
    assert "Hold open" not in str(lid["order"])
    assert "Leave by it" not in str(guide["parts"])


def test_a_wrong_card_is_not_expected_to_unlock() -> None:
    """The line asks for both cards; it said "unlocked" alone."""
    assert "unlocked by the right one; the wrong one changes nothing" in pages(SHUT_IN, "tests")


DEAD = """
latchwork: 1
supplies:
  S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}
  S2: {part: timed supply 24 V}
doors:
  D1:
    out by: lever
    lock: strike 24 V fail-secure
    controller: controller
    controller at: door
    exit: exit button
    supply: S1 out 1
    runs: {power: 10 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
    found: [{swapped: [power brown, power blue]}]
  D2:
    lock: magnet 24 V
    controller: none
    exit: exit button
    release: release, double pole
    supply: S2
    runs: {lock: 9 m of 2 x 1.5 mm², exit: 9 m of 4 x 0.22 mm², release: 9 m of 4 x 1.5 mm²}
"""


def test_a_door_that_does_not_unlock_is_not_expected_not_to() -> None:
    """A controller fed the wrong way round is dead: "locked" beside a box reads like a pass."""
    told = pages(DEAD, "tests")
    assert "then a wrong one locked, though it should unlock" in told
    assert "Press the exit button locked, though it should unlock" in told


def test_no_controller_is_unplugged_where_there_is_none() -> None:
    _, _, second = pages(DEAD, "tests").partition("Tests D2")
    assert "Operate the emergency release unlocked" in second
    assert "Controller unplugged" not in second


def test_a_release_is_not_told_of_where_none_is_fitted() -> None:
    trapped, _, door_open = pages(SHUT_IN, "emergency").partition("A door will not lock")
    assert "Operate the emergency release" not in trapped
    assert "While a fire alarm sounds leave it open" in door_open
    assert "Operate the emergency release" in pages("", "emergency")


def test_who_stands_there_reads_what_to_press() -> None:
    """Nobody who uses a door says "exit request"."""
    for part in ("guides", "emergency"):
        told = pages(DEAD, part)
        assert "by the exit button" in told
        assert "exit request" not in told


def test_a_door_is_locked_by_key_only_when_nobody_is_inside() -> None:
    told = pages("", "guides")
    assert "Lock it by its key or watch it" not in told
    assert "lock it by its key only when nobody is inside" in told
