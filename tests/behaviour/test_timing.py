"""Time: timers by edge and by level, in the order in which they run out."""

from __future__ import annotations

import numpy as np
import pytest

from latchwork.behaviour.state import DROPPED, PICKED
from latchwork.behaviour.timing import step
from latchwork.elements import FALSE, Flag, Speed, TimerMode
from tests.behaviour.board import Board, Ready


def timed(mode: TimerMode, seconds: float = 5.0) -> Ready:
    """A button that starts a timer, whose relay feeds a lock; ``stop`` clears it."""
    board = Board()
    press, stop = board.input("press"), board.input("stop")
    granted = board.timer("granted", press, seconds, mode, clear=stop)
    relay = board.rule("relay", granted, Speed.RELAY)
    board.source("psu", "+", "0", 12.0)
    board.contact("NO", "+", "lock", relay)
    board.ohm("coil", "lock", "0", 48.0)
    board.bolt("bolt", "lock", "0", 6.0, 9.0, 5.0, 1.0)
    return board.ready()


def test_a_timer_by_edge_runs_from_the_press_however_long_it_lasts() -> None:
    ready = timed(TimerMode.ON_RISE)
    state, _ = ready.step(None, 60.0)
    state, point = ready.step(state, 4.9, press=True)
    assert ready.bolt(point, "bolt") == PICKED
    state, point = ready.step(state, 0.2)
    assert ready.bolt(point, "bolt") == DROPPED, "still pressed, but its time is over"
    state, point = ready.step(state, 0.0, press=False)
    state, point = ready.step(state, 0.0, press=True)
    assert ready.bolt(point, "bolt") == PICKED, "a new press"


def test_a_timer_by_level_runs_on_from_the_release() -> None:
    ready = timed(TimerMode.WHILE)
    state, point = ready.step(None, 20.0, press=True)
    assert ready.bolt(point, "bolt") == PICKED
    state, point = ready.step(state, 4.9, press=False)
    assert ready.bolt(point, "bolt") == PICKED
    _, point = ready.step(state, 0.2)
    assert ready.bolt(point, "bolt") == DROPPED


@pytest.mark.parametrize("mode", list(TimerMode))
def test_a_timer_is_cleared_at_once(mode: TimerMode) -> None:
    ready = timed(mode)
    state, point = ready.step(None, 1.0, press=True)
    assert ready.flag(point, "granted")
    state, point = ready.step(state, 0.0, stop=True)
    assert not ready.flag(point, "granted")
    _, point = ready.step(state, 0.0, press=False, stop=False)
    assert ready.flag(point, "granted") is (mode is TimerMode.WHILE), "the release starts it again"


def test_a_second_press_begins_the_time_anew() -> None:
    ready = timed(TimerMode.ON_RISE)
    state, _ = ready.step(None, 3.0, press=True)
    state, _ = ready.step(state, 1.0, press=False)
    state, point = ready.step(state, 4.0, press=True)
    assert ready.flag(point, "granted"), "eight seconds after the first, four after the second"
    _, point = ready.step(state, 1.5, press=True)
    assert not ready.flag(point, "granted")


def test_the_very_second_a_timer_runs_out_it_is_over() -> None:
    ready = timed(TimerMode.ON_RISE, 5.0)
    _, point = ready.step(None, 5.0, press=True)
    assert not ready.flag(point, "granted")


def test_what_passes_in_between_is_seen_in_the_least_and_most_volts() -> None:
    ready = timed(TimerMode.ON_RISE)
    state, _ = ready.step(None, 1.0)
    _, point = ready.step(state, 60.0, press=True)
    assert ready.bolt(point, "bolt") == DROPPED
    low, high = ready.range_v(point, "bolt")
    assert low == 0.0
    assert high == pytest.approx(12.0, abs=0.05)


def relay_race(first_s: float, second_s: float) -> str:
    """Two timers from one press; whichever runs out first locks the other's lamp out."""
    board = Board()
    press = board.input("press")
    a = board.timer("a", press, first_s)
    b = board.timer("b", press, second_s)
    started = board.latch("started", press, FALSE)
    board.latch("a_first", started & ~a & b & ~Flag("b_first"), FALSE)
    board.latch("b_first", started & ~b & a & ~Flag("a_first"), FALSE)
    board.source("psu", "+", "0", 12.0)
    board.ohm("load", "+", "0", 100.0)
    ready = board.ready()
    _, point = ready.step(None, 60.0, press=True)
    won = [name for name in ("a_first", "b_first") if ready.flag(point, name)]
    return " ".join(won)


def test_timers_run_out_in_order() -> None:
    assert relay_race(1.0, 2.0) == "a_first"
    assert relay_race(2.0, 1.0) == "b_first"
    assert relay_race(2.0, 2.0) == "", "together"


def chain() -> Board:
    """One timer's end starts the next: 1 s, then 2 s, then 4 s."""
    board = Board()
    press = board.input("press")
    one = board.timer("one", press, 1.0)
    two = board.timer("two", ~one & board.latch("begun", press, FALSE), 2.0)
    board.timer("three", ~two & board.latch("later", two, FALSE), 4.0)
    board.source("psu", "+", "0", 12.0)
    board.contact("out", "+", "lamp", Flag("three"))
    board.ohm("lamp", "lamp", "0", 100.0)
    return board


@pytest.mark.parametrize(
    ("seconds", "running"),
    [(0.5, {"one"}), (1.5, {"two"}), (2.9, {"two"}), (3.5, {"three"}), (7.5, set())],
)
def test_a_chain_of_timers_runs_through_within_one_step(seconds: float, running: set[str]) -> None:
    ready = chain().ready()
    state, _ = ready.step(None, 1.0)
    _, point = ready.step(state, seconds, press=True)
    assert {n for n in ("one", "two", "three") if ready.flag(point, n)} == running


def test_time_in_many_steps_is_time_in_one() -> None:
    ready = chain().ready()
    state, _ = ready.step(None, 1.0)
    once, _ = ready.step(state, 4.5, press=True)
    state, _ = ready.step(state, 0.0, press=True)
    for _ in range(9):
        state, _ = ready.step(state, 0.5)
    assert (once.flags == state.flags).all()
    assert once.left_s == pytest.approx(state.left_s)


def test_columns_with_other_times_go_their_own_way() -> None:
    ready = timed(TimerMode.ON_RISE)
    batch = ready.batch(3)
    pressed = np.array([True, False, True])
    state, _ = step(batch, ready.given(ready.dead(3), press=pressed), 2.0)
    stopped = np.array([True, False, False])
    _, point = step(batch, ready.given(state, stop=stopped), 1.0)
    assert list(point.flags[ready.net.flags["granted"]]) == [False, False, True]
