"""Moves that are remembered: the same bits as without, and often asked for.

Both ways are ours; what either says is held against something outside elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from latchwork.behaviour import compiled_scripts, kernel_room
from latchwork.behaviour.kernel_room import HITS, Room
from latchwork.behaviour.settle import settle
from latchwork.behaviour.state import Point
from latchwork.circuit import Work
from latchwork.elements import Speed, TimerMode
from latchwork.faults.prepare import prepare
from latchwork.faults.tasks import tasks
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import wire
from tests.behaviour.board import Board, Ready, side_by_side
from tests.behaviour.doors import door, inputs
from tests.behaviour.test_compiled import both, same
from tests.faults.known import jobs

COLUMNS = 60
Watch = Callable[[], int]


@pytest.fixture
def hits(monkeypatch: pytest.MonkeyPatch) -> Watch:
    """How often a move was found in memory so far."""
    rooms: list[Room] = []
    make = kernel_room.room

    def keeping(*given: object) -> Room:
        rooms.append(make(*given))  # type: ignore[arg-type]  # handed on as they come
        return rooms[-1]

    monkeypatch.setattr(kernel_room, "room", keeping)
    return lambda: sum(int(room.memory.now[HITS]) for room in rooms)


def held(text: str, work: Work) -> list[Point]:
    """A job's every fault in every situation."""
    wiring = wire(plan(read_job_text(text, "job.yaml"), catalogue()))
    points = []
    for task in tasks(prepare(wiring)):
        parts = task.solve(work).solved.parts
        points += [point for part in parts for point in (part.begins, part.held)]
    return points


@pytest.mark.parametrize("text", jobs().values(), ids=jobs())
def test_faults_go_as_they_do_without_a_memory(
    text: str, hits: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With room for one move alone hardly one is found: each is made."""
    work, without = Work(compiled=True), Work(compiled=True)
    points = held(text, work)
    found = hits()
    monkeypatch.setattr(kernel_room, "REMEMBERED", 1)
    monkeypatch.setattr(compiled_scripts, "_last", compiled_scripts._Last())
    for ours, theirs in zip(points, held(text, without), strict=True):
        same(ours, theirs)
    assert found > 0.6 * (work.solves + work.known)
    assert hits() - found < 0.4 * found
    assert work.solves == without.solves
    assert work.known == without.known
    assert work.newton_steps == without.newton_steps
    assert work.reductions == without.reductions


def test_doors_of_every_length_and_figure(hits: Watch) -> None:
    rng = np.random.default_rng(60)
    readies = [door(rng).ready() for _ in range(COLUMNS)]
    both(readies[0], side_by_side(readies), [inputs(rng, COLUMNS) for _ in range(6)])
    assert hits() > 0


@pytest.mark.parametrize("mode", list(TimerMode))
def test_timers_of_other_seconds_and_of_none(mode: TimerMode, hits: Watch) -> None:
    """A timer of no seconds never runs, so doors that have one do not move as others do."""

    def timed(seconds: float) -> Ready:
        board = Board()
        granted = board.timer("granted", board.input("press"), seconds, mode)
        after = board.timer("after", granted, 2.0 * seconds, TimerMode.WHILE)
        board.source("psu", "+", "0", 12.0)
        board.contact("NO", "+", "lock", board.rule("relay", granted | after, Speed.RELAY))
        board.ohm("coil", "lock", "0", 48.0)
        board.bolt("bolt", "lock", "0", 6.0, 9.0, 5.0, 1.0)
        return board.ready()

    readies = [timed(s) for s in (5.0, 0.0, 0.0, 3.0, 0.5, 60.0)]
    rows = [{"press": np.full(len(readies), n % 3 == 0)} for n in range(9)]
    both(readies[0], side_by_side(readies), rows)
    assert hits() > 0


def test_two_fuses_that_blow_at_once_are_not_remembered(hits: Watch) -> None:
    """The worse one goes first and spares the other: which, hangs on more than comparisons."""

    def fused(first_a: float, second_a: float) -> Ready:
        board = Board()
        board.source("psu", "+", "0", 12.0)
        board.fuse("first", "+", "a", 0.05, first_a)
        board.fuse("second", "a", "b", 0.05, second_a)
        board.contact("short", "b", "0", board.input("short"))
        board.ohm("lamp", "b", "0", 48.0)
        return board.ready()

    readies = [fused(*its) for its in ((1.0, 2.0), (1.0, 2.0), (2.0, 1.0), (3.0, 2.0))]
    rows = [{"short": np.full(len(readies), n == 1)} for n in range(4)]
    point = both(readies[0], side_by_side(readies), rows)
    assert hits() > 0
    blown = [readies[0].net.flags[f"{name}.blown"] for name in ("first", "second")]
    assert point.flags[blown].tolist() == [[True, True, False, False], [False, False, True, True]]


def test_bolts_that_stay_where_they_are_without_volts(hits: Watch) -> None:
    """A bolt that never surely drops stays at no volts where the same volts drop another."""

    def latching(release_v: float) -> Ready:
        board = Board()
        board.source("psu", "+", "0", 12.0)
        board.ohm("coil", "+", "0", 48.0)
        needs = board.input("there")
        board.bolt("bolt", "+", "0", 6.0, 9.0, 5.0, release_v, needs=needs)
        return board.ready()

    readies = [latching(volts) for volts in (1.0, 0.0, 1.0, 0.0)]
    rows = [{"there": np.full(len(readies), n % 2 == 0)} for n in range(4)]
    point = both(readies[0], side_by_side(readies), rows)
    assert hits() > 0
    assert point.bolts[0].tolist() == [0, 1, 0, 1]


def test_logic_that_is_frozen_is_not_taken_for_logic_that_moves() -> None:
    board = Board()
    pressed = board.input("press")
    board.source("psu", "+", "0", 12.0)
    board.contact("NO", "+", "lock", board.rule("relay", pressed, Speed.RELAY))
    board.ohm("coil", "lock", "0", 48.0)
    board.bolt("bolt", "lock", "0", 6.0, 9.0, 5.0, 1.0)
    ready = board.ready()
    batch, state = ready.batch(2), ready.given(ready.dead(2), press=True)
    for frozen in (False, True, False):
        ended, point = settle(batch, state, Work(compiled=True), frozen=frozen)
        rowwise, point_by_rows = settle(batch, state, Work(), frozen=frozen)
        same(ended, rowwise)
        same(point, point_by_rows)
        assert point.bolts[0].tolist() == [0 if frozen else 2] * 2
