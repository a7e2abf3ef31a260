"""Lots over this machine's cores: whoever is ended from outside loses nothing."""

from __future__ import annotations

import gc
import os
import signal
import sys
import time
from pathlib import Path
from threading import Barrier

import pytest

from latchwork.faults.spread import Cores, Lost, Tell, side_by_side, uncollected

LOTS = ["a", "b", "c", "d", "e"]


def loud(lot: str, tell: Tell) -> str:
    """What is asked, in capitals."""
    tell("letters", 1, 1)
    return lot.upper()


def dies(lot: Path, tell: Tell) -> str:
    """Ended from outside the first time, when the file named is not there yet."""
    if not lot.exists():
        lot.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return lot.name


def dies_ever(lot: str, tell: Tell) -> str:
    """Ended from outside whenever it is begun, one of them alone."""
    if lot == "c":
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.01)
    return lot


def fails(lot: str, tell: Tell) -> str:
    """A mistake of ours."""
    raise ZeroDivisionError(lot)


class Told:
    """What a bar would show, but for compiling, which is told where it is the first time."""

    def __init__(self) -> None:
        self.steps: list[tuple[str, int, int]] = []

    def hear(self, what: str, done: int, total: int) -> None:
        if what != "compile":
            self.steps.append((what, done, total))


def test_what_comes_has_its_lots_number_and_lots_are_told() -> None:
    came: dict[int, str] = {}
    told = Told()
    Cores(2).run(loud, LOTS, came.__setitem__, told.hear)
    assert [came[n] for n in range(len(LOTS))] == ["A", "B", "C", "D", "E"]
    assert told.steps == [("lots", n, len(LOTS)) for n in range(len(LOTS) + 1)]


def test_where_all_are_at_work_at_once_their_own_steps_are_told() -> None:
    told = Told()
    Cores(2).run(loud, LOTS[:2], lambda n, came: None, told.hear)
    assert told.steps == [("letters", 2, 2)]


def test_a_process_that_is_ended_has_its_lot_begun_again(tmp_path: Path) -> None:
    came: dict[int, str] = {}
    files = [tmp_path / name for name in LOTS]
    Cores(2).run(dies, files, came.__setitem__)
    assert [came[n] for n in range(len(LOTS))] == LOTS


def test_a_lot_that_ends_every_process_is_lost() -> None:
    with pytest.raises(Lost):
        Cores(2).run(dies_ever, LOTS, lambda n, came: None)


def test_a_mistake_is_raised_where_the_work_was_asked_for() -> None:
    with pytest.raises(ZeroDivisionError):
        Cores(2).run(fails, LOTS, lambda n, came: None)


def test_tasks_side_by_side_come_in_their_order() -> None:
    both, usual_s = Barrier(2, timeout=30.0), sys.getswitchinterval()

    def do(task: int) -> int:
        both.wait()  # for another one: alone nobody gets past
        time.sleep(0.02 * (task % 2 == 0))
        return 10 * task

    assert list(side_by_side(do, range(6), 2)) == [0, 10, 20, 30, 40, 50]
    assert list(side_by_side(lambda task: -task, range(3), 1)) == [0, -1, -2]
    with pytest.raises(ZeroDivisionError):
        list(side_by_side(lambda task: 1 // task, [1, 0, 1], 2))
    assert sys.getswitchinterval() == usual_s


def test_what_a_run_made_is_not_looked_through_after_it() -> None:
    made: list[list[int]] = []
    gc.enable()  # a command that a test called leaves it off
    with uncollected():
        made += [[n] for n in range(50_000)]
        assert not gc.isenabled()
        assert gc.get_count()[0] >= 50_000
    assert gc.isenabled()
    assert gc.get_count()[0] < 5_000
    assert gc.get_freeze_count() == 0
    assert len(made) == 50_000
