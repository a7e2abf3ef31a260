"""Contacts, locks and fuses coming to rest, on boards whose outcome is plain on paper."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from latchwork.behaviour.settle import settle
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED, Forced
from latchwork.circuit import Work
from latchwork.elements import FALSE, Flag, LoadLaw, Speed
from tests.behaviour.board import Board, Ready, stuck_batch


def relay_board(volt: float = 12.0, on_v: float = 9.0, off_v: float = 4.0) -> Board:
    """A coil behind a switch and 10 ohm; its contact lights a lamp of 48 ohm."""
    board = Board()
    switch = board.input("switch")
    board.source("psu", "+", "0", volt)
    board.contact("button", "+", "a", switch)
    board.ohm("core", "a", "coil", 10.0)
    board.ohm("winding", "coil", "0", 110.0)
    pulled = board.sense("pulled", "coil", "0", on_v, off_v, speed=Speed.RELAY)
    board.contact("NO", "+", "lamp", pulled)
    board.contact("NC", "+", "spare", ~pulled)
    board.ohm("lamp", "lamp", "0", 48.0)
    return board


def test_a_relay_pulls_and_its_contact_changes_over() -> None:
    ready = relay_board().ready()
    state, point = ready.settle()
    assert not ready.flag(point, "pulled")
    assert ready.volts(point, "lamp") == 0.0
    assert ready.volts(point, "spare") == pytest.approx(12.0, abs=1e-6)
    state, point = ready.settle(state, switch=True)
    assert ready.flag(point, "pulled")
    # 0.05 ohm in the source; coil 120.05 and lamp 48.05 ohm beside each other.
    bus = 12.0 / (1.0 + 0.05 / 120.05 + 0.05 / 48.05)
    assert ready.volts(point, "lamp") == pytest.approx(bus * 48.0 / 48.05, rel=1e-12)
    assert not point.chatter[0]


@pytest.mark.parametrize(
    ("volt", "from_dead", "from_pulled"),
    [(12.0, True, True), (9.7, False, True), (6.0, False, True), (4.2, False, False)],
)
def test_between_its_thresholds_a_relay_stays_as_it_was(
    volt: float, from_dead: bool, from_pulled: bool
) -> None:
    """The coil sees 110/120 of the supply: 11, 8.9, 5.5 and 3.85 V against 9 on and 4 off."""
    low = relay_board(volt).ready()
    _, point = low.settle(switch=True)
    assert low.flag(point, "pulled") is from_dead
    pulled, _ = relay_board(12.0).ready().settle(switch=True)
    _, point = low.settle(pulled, switch=True)
    assert low.flag(point, "pulled") is from_pulled


def bolt_board(volt: float, either_way: bool = True, needed: bool = True) -> Ready:
    board = Board()
    board.source("psu", "+", "0", volt, 1e-3)
    board.ohm("coil", "+", "0", 48.0)
    key = board.input("key", needed)
    board.bolt("bolt", "+", "0", 6.0, 9.0, 5.0, 1.0, either_way, needs=key)
    return board.ready()


@pytest.mark.parametrize(
    ("before", "volt", "after"),
    [
        (DROPPED, 0.0, DROPPED),
        (DROPPED, 5.9, DROPPED),
        (DROPPED, 6.1, MARGINAL),
        (DROPPED, 8.9, MARGINAL),
        (DROPPED, 9.1, PICKED),
        (PICKED, 9.1, PICKED),
        (PICKED, 5.1, PICKED),
        (PICKED, 4.9, MARGINAL),
        (PICKED, 1.1, MARGINAL),
        (PICKED, 0.9, DROPPED),
        (MARGINAL, 0.9, DROPPED),
        (MARGINAL, 1.1, MARGINAL),
        (MARGINAL, 5.5, MARGINAL),
        (MARGINAL, 8.9, MARGINAL),
        (MARGINAL, 9.1, PICKED),
    ],
)
def test_a_bolt_goes_by_four_thresholds_and_where_it_was(
    before: int, volt: float, after: int
) -> None:
    """May pick up at 6 V, surely at 9; surely holds at 5 V, surely lets go below 1."""
    way = {DROPPED: [0.0], MARGINAL: [7.0], PICKED: [12.0]}[before]
    state = None
    for volts in way:
        state, _ = bolt_board(volts).settle(state)
    ready = bolt_board(volt)
    _, point = ready.settle(state)
    assert ready.bolt(point, "bolt") == after


def test_a_marginal_bolt_leaves_its_flag_as_it_was() -> None:
    picked, point = bolt_board(12.0).settle()
    assert bolt_board(12.0).flag(point, "bolt")
    _, point = bolt_board(3.0).settle(picked)
    assert bolt_board(3.0).flag(point, "bolt")
    _, point = bolt_board(7.0).settle()
    assert not bolt_board(7.0).flag(point, "bolt")


@pytest.mark.parametrize(("either_way", "after"), [(True, PICKED), (False, DROPPED)])
def test_polarity_counts_where_it_is_said_to(either_way: bool, after: int) -> None:
    board = Board()
    board.source("psu", "0", "-", 12.0)
    board.ohm("coil", "-", "0", 48.0)
    board.bolt("bolt", "-", "0", 6.0, 9.0, 5.0, 1.0, either_way)
    ready = board.ready()
    _, point = ready.settle()
    assert ready.bolt(point, "bolt") == after


def test_a_bolt_without_what_it_needs_is_as_without_volts() -> None:
    state, point = bolt_board(12.0).settle()
    ready = bolt_board(12.0)
    assert ready.bolt(point, "bolt") == PICKED
    _, point = ready.settle(state, key=False)
    assert ready.bolt(point, "bolt") == DROPPED


def test_a_latch_stays_set_until_reset_which_wins() -> None:
    board = Board()
    pull, reset = board.input("pull"), board.input("reset")
    board.latch("alarm", pull, reset)
    ready = board.ready()
    state, _ = ready.settle(pull=True)
    state, point = ready.settle(state, pull=False)
    assert ready.flag(point, "alarm")
    state, point = ready.settle(state, pull=True, reset=True)
    assert not ready.flag(point, "alarm")
    state, point = ready.settle(state, pull=False, reset=False)
    assert not ready.flag(point, "alarm")


def test_of_two_fuses_in_series_only_the_weaker_blows() -> None:
    board = Board()
    short = board.input("short")
    board.source("battery", "+", "0", 12.0, 0.1)
    board.fuse("main", "+", "a", 0.02, 8.0)
    board.fuse("branch", "a", "b", 0.05, 2.0)
    board.ohm("coil", "b", "0", 24.0)
    board.contact("fault", "b", "0", short, 0.01)
    ready = board.ready()
    state, point = ready.settle()
    assert not ready.flag(point, "main.blown")
    assert not ready.flag(point, "branch.blown")
    state, point = ready.settle(state, short=True)
    assert ready.flag(point, "branch.blown")
    assert not ready.flag(point, "main.blown")
    _, point = ready.settle(state, short=False)
    assert ready.flag(point, "branch.blown")
    assert ready.volts(point, "b") == 0.0


def test_of_two_fuses_beside_each_other_one_blows_and_then_the_other() -> None:
    """3.9 A over two fuses of 2 A: 2.3 A through the one of less resistance, which blows first;
    then the other has it all. With 3 A in all neither does."""
    for ohm, blown in ((3.0, True), (4.0, False)):
        board = Board()
        board.source("battery", "+", "0", 12.0, 1e-3)
        board.fuse("one", "+", "a", 0.040, 2.0)
        board.fuse("two", "+", "a", 0.060, 2.0)
        board.ohm("load", "a", "0", ohm)
        ready = board.ready()
        _, point = ready.settle()
        assert ready.flag(point, "one.blown") is blown
        assert ready.flag(point, "two.blown") is blown


def test_a_fast_contact_spares_the_fuse() -> None:
    """A relay that takes the overload off is faster than the fuse that would have blown."""
    for rescued in (True, False):
        board = Board()
        start = board.input("start")
        board.source("psu", "+", "0", 12.0, 0.1)
        board.fuse("fuse", "+", "a", 0.05, 2.0)
        over = board.sense("over", "+", "a", 0.1, 0.05, speed=Speed.CONTROLLER)
        tripped = board.latch("tripped", over, FALSE)
        board.contact("run", "a", "b", start & ~tripped if rescued else start, 0.01)
        board.ohm("load", "b", "0", 2.0)
        ready = board.ready()
        _, point = ready.settle(start=True)
        assert ready.flag(point, "fuse.blown") is not rescued


def test_a_polymer_fuse_trips_stays_hot_and_comes_back_once_unloaded() -> None:
    board = Board()
    short = board.input("short")
    closed = board.input("closed", True)
    board.source("psu", "+", "0", 12.0, 0.1)
    board.fuse("polymer", "+", "a", 0.1, 1.0, resets=True)
    board.contact("switch", "a", "b", closed)
    board.ohm("load", "b", "0", 24.0)
    board.contact("fault", "b", "0", short, 0.01)
    ready = board.ready()
    state, point = ready.settle()
    assert not ready.flag(point, "polymer.blown")
    state, point = ready.settle(state, short=True)
    assert ready.flag(point, "polymer.blown")
    state, point = ready.settle(state, short=False)
    assert ready.flag(point, "polymer.blown"), "24 ohm behind 100 keep it hot"
    assert ready.volts(point, "b") == pytest.approx(12.0 * 24.0 / 124.15, rel=1e-6)
    state, point = ready.settle(state, closed=False)
    state, point = ready.settle(state, closed=True)
    assert not ready.flag(point, "polymer.blown")
    assert ready.volts(point, "b") == pytest.approx(12.0 * 24.0 / 24.25, rel=1e-6)


def chatter_board() -> Board:
    """A relay fed through its own closed-at-rest contact, and another relay that is not."""
    board = Board()
    on = board.input("on")
    board.source("psu", "+", "0", 12.0)
    board.contact("switch", "+", "a", on)
    buzzing = board.sense("buzzing", "coil", "0", 9.0, 4.0, speed=Speed.RELAY)
    board.contact("NC", "a", "coil", ~buzzing)
    board.ohm("winding", "coil", "0", 120.0)
    steady = board.sense("steady", "a", "0", 9.0, 4.0, speed=Speed.RELAY)
    board.contact("NO", "+", "lamp", steady)
    board.ohm("lamp", "lamp", "0", 48.0)
    return board


def test_a_relay_that_cuts_its_own_coil_chatters_and_nothing_else_does() -> None:
    ready = chatter_board().ready()
    state, point = ready.settle()
    assert not point.chatter[0]
    _, point = ready.settle(state, on=True)
    assert point.chatter[0]
    assert ready.flips(point) == {"buzzing"}
    assert ready.flag(point, "steady")
    low, high = ready.range_v(point, "buzzing")
    assert low == 0.0
    assert high == pytest.approx(12.0, abs=0.1)


@pytest.mark.parametrize("length", [1, 2, 3, 4])
def test_logic_that_contradicts_itself_chatters(length: int) -> None:
    """A loop of flags, each following the one before and the first its opposite."""
    board = Board()
    on = board.input("on")
    names = [f"loop{n}" for n in range(length)]
    board.rule(names[0], ~Flag(names[-1]) & on)
    for before, name in pairwise(names):
        board.rule(name, Flag(before))
    board.source("psu", "+", "0", 12.0)
    board.contact("out", "+", "a", Flag(names[0]))
    board.ohm("load", "a", "0", 24.0)
    ready = board.ready()
    state, point = ready.settle()
    assert not point.chatter[0]
    _, point = ready.settle(state, on=True)
    assert point.chatter[0]
    assert ready.flips(point) == set(names)


def dip_board(level: bool, limit_a: float = 0.5) -> Board:
    """A controller of 1 W that dies below 8 V and starts again at 9.5 V; the lock it switches
    draws more than the supply can give."""
    board = Board()
    credential = board.input("credential")
    board.source("psu", "+", "0", 12.0, 0.1, limit_a)
    board.ohm("core", "+", "c", 0.5)
    powered = board.sense("powered", "c", "0", 9.5, 8.0)
    board.load("controller", "c", "0", 1.0, 5.0, LoadLaw.POWER, on=powered)
    if level:
        granted = board.rule("granted", credential & powered)
    else:
        granted = board.timer("granted", credential, 5.0, clear=~powered)
    relay = board.rule("relay", granted & powered, Speed.RELAY)
    board.contact("NO", "c", "lock", relay)
    board.ohm("coil", "lock", "0", 12.0)
    board.bolt("bolt", "lock", "0", 7.0, 9.0, 5.0, 1.0)
    return board


def test_a_controller_that_browns_out_as_the_lock_picks_up_forgets_the_grant() -> None:
    ready = dip_board(level=False).ready()
    state, point = ready.settle()
    assert ready.flag(point, "powered")
    state, point = ready.settle(state, credential=True)
    assert not point.chatter[0]
    assert ready.flag(point, "powered"), "it starts again"
    assert not ready.flag(point, "granted"), "but has forgotten"
    assert ready.bolt(point, "bolt") == DROPPED
    low, high = ready.range_v(point, "powered")
    dip = 0.5 * 1.0 / (1.0 / 12.05 + 1.0 / 25.0)
    assert low == pytest.approx(dip, abs=0.01), "0.5 A over the coil and 1 W at its floor of 5 V"
    assert high > 11.5


def test_a_controller_that_is_asked_by_level_restarts_for_ever() -> None:
    ready = dip_board(level=True).ready()
    state, _ = ready.settle()
    _, point = ready.settle(state, credential=True)
    assert point.chatter[0]
    assert ready.flips(point) == {"powered", "granted", "relay"}


def test_with_current_enough_the_lock_picks_up() -> None:
    ready = dip_board(level=True, limit_a=3.0).ready()
    state, _ = ready.settle()
    _, point = ready.settle(state, credential=True)
    assert not point.chatter[0]
    assert ready.bolt(point, "bolt") == PICKED


def test_a_flag_that_is_stuck_stays_whatever_its_rule_says() -> None:
    """Three columns: a sound relay, one stuck on, one stuck off; the button not, then pressed."""
    ready = relay_board().ready()
    pulled = ready.net.flags["pulled"]
    never = np.zeros(3, dtype=bool)
    stuck = Forced(np.array([False, True, True]), np.array([False, True, False]), never)
    batch = stuck_batch(ready.batch(3), {pulled: stuck})
    state, point = settle(batch, ready.dead(3))
    assert list(point.flags[pulled]) == [False, True, False]
    assert list(point.volts[ready.net.nodes["lamp"]] > 11.0) == [False, True, False]
    _, point = settle(batch, ready.given(state, switch=True))
    assert list(point.flags[pulled]) == [True, True, False]


def test_a_flag_held_on_lets_go_without_what_it_needs() -> None:
    """Two columns stuck on, the second only while the switch is on."""
    ready = relay_board().ready()
    pulled, switch = ready.net.flags["pulled"], ready.net.flags["switch"]
    both = np.ones(2, dtype=bool)
    stuck = Forced(both, both, np.array([False, True]), switch)
    batch = stuck_batch(ready.batch(2), {pulled: stuck})
    state, point = settle(batch, ready.dead(2))
    assert list(point.flags[pulled]) == [True, False]
    _, point = settle(batch, ready.given(state, switch=True))
    assert list(point.flags[pulled]) == [True, True]


def test_the_work_of_settling_a_fixed_board_stays_what_it_is() -> None:
    ready = dip_board(level=False).ready()
    work = Work()
    state, _ = settle(ready.batch(), ready.dead(), work)
    settle(ready.batch(), ready.given(state, credential=True), work)
    assert (work.reductions, work.newton_steps) == (7, 14)
