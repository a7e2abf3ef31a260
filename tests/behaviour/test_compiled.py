"""Compiled code against the same over rows: every position and every bit.

Both are ours; what either says is held against something outside elsewhere.
"""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

from latchwork.behaviour import compiled as compiled_code
from latchwork.behaviour import compiled_scripts, make_ready
from latchwork.behaviour.settle import settle
from latchwork.behaviour.shape import slim
from latchwork.behaviour.state import Batch, Point, State, dead
from latchwork.behaviour.timing import passing, step
from latchwork.circuit import Work
from latchwork.elements import All, Flag
from latchwork.faults.prepare import prepare
from latchwork.faults.tasks import tasks
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import wire
from tests.behaviour.board import Board, Ready, side_by_side
from tests.behaviour.doors import door, inputs
from tests.behaviour.test_columns import set_in
from tests.behaviour.test_settle import chatter_board
from tests.faults.known import jobs

COLUMNS = 40
MOMENTS = 5


def both(ready: Ready, batch: Batch, rows: list[dict[str, np.ndarray]]) -> Point:
    """Step through ``rows`` of inputs in both ways, each time from the same state."""
    state = dead(batch.compiled, batch.columns)
    rowwise, compiled = Work(), Work(compiled=True)
    for given in rows:
        begun = set_in(ready, state, given)
        other, otherwise = step(batch, begun, 2.0, compiled)
        batch.members.answers.clear()
        state, point = step(batch, begun, 2.0, rowwise)
        same(state, other)
        same(point, otherwise)
    # Compiled code remembers what a circuit answered before, over rows only within a step here.
    assert rowwise.solves + rowwise.known == compiled.solves + compiled.known
    assert compiled.known >= rowwise.known > 0
    # Over rows, columns that rest are taken along until half of them do.
    assert rowwise.newton_steps >= compiled.newton_steps
    return point


def test_doors_of_every_length_and_figure() -> None:
    rng = np.random.default_rng(50)
    readies = [door(rng).ready() for _ in range(COLUMNS)]
    rows = [inputs(rng, COLUMNS) for _ in range(MOMENTS)]
    both(readies[0], side_by_side(readies), rows)


def test_a_supply_at_its_limit() -> None:
    rng = np.random.default_rng(51)
    readies = [door(rng, limit_a=0.4).ready() for _ in range(COLUMNS)]
    rows = [inputs(rng, COLUMNS) for _ in range(MOMENTS)]
    both(readies[0], side_by_side(readies), rows)


def test_what_never_rests() -> None:
    ready = chatter_board().ready()
    point = both(ready, ready.batch(2), [{}, {"on": np.array([True, False])}, {}])
    assert point.chatter.any()


def test_a_rule_with_more_clauses_than_can_be_packed_goes_by_rows() -> None:
    board = Board()
    flags = [board.input(f"in{n}") for n in range(40)]
    either = [a | b for a, b in zip(flags[::2], flags[1::2], strict=True)]
    board.rule("all", All(tuple(either)))
    board.source("psu", "+", "0", 12.0)
    board.contact("switch", "+", "a", Flag("all"))
    board.ohm("lamp", "a", "0", 48.0)
    ready = board.ready()
    batch = ready.batch(1)
    assert batch.members.packed is None
    state = set_in(ready, dead(batch.compiled, 1), {f"in{n}": np.array([True]) for n in range(40)})
    _, point = step(batch, state, 2.0, Work(compiled=True))
    assert ready.volts(point, "a") == pytest.approx(12.0, abs=0.1)


def test_a_network_that_nothing_switches() -> None:
    """A lock that nothing is wired to, seen from its supply: no flag at all (a voltage divider)."""
    board = Board()
    board.source("psu", "+", "0", 12.0, 1.0)
    board.ohm("lamp", "+", "0", 5.0)
    ready = board.ready()
    batch = ready.batch(2)
    assert batch.compiled.shape.flags == 0
    for work in (Work(), Work(compiled=True)):
        _, point = settle(batch, dead(batch.compiled, 2), work)
        assert ready.volts(point, "+") == pytest.approx(10.0, abs=1e-6)


def test_doors_of_other_thresholds_and_the_same_seconds() -> None:
    """Seconds then stand as one column for all of them, volts as one for each."""
    rng = np.random.default_rng(54)
    readies = [door(rng).ready() for _ in range(COLUMNS)]
    its = side_by_side(readies)
    values = replace(its.values, bolt_v=its.values.bolt_v * np.linspace(0.5, 1.1, COLUMNS))
    values = slim(values)
    assert (values.timer_s.shape[1], values.bolt_v.shape[1]) == (1, COLUMNS)
    rows = [inputs(rng, COLUMNS) for _ in range(MOMENTS)]
    both(readies[0], Batch.of(its.compiled, values, COLUMNS), rows)


def test_what_was_solved_last_is_known_though_something_before_was_not() -> None:
    """A point on whose way a circuit had no answer stays unsolved; the volts it ends at stand."""
    ready = door(np.random.default_rng(55)).ready()
    batch = ready.batch()
    asked = ready.given(dead(batch.compiled, 1), credential=True)
    for work in (Work(), Work(compiled=True)):
        state, point = settle(batch, asked, work)
        point = replace(point, solved=np.array([False]))
        after, ended = passing(batch, state, point, 9.0, work)
        assert not ended.solved.any()
        assert after.rest is not None
        assert after.rest.solved.all()


def test_every_fault_of_the_hand_written_doors() -> None:
    """All 28 situations, stuck flags, supplies that other doors share, fuses."""
    settled = 0
    for text in jobs().values():
        wiring = wire(plan(read_job_text(text, "job.yaml"), catalogue()))
        for task in tasks(prepare(wiring)):
            rowwise, compiled = (
                task.solve(work).solved.parts for work in (Work(), Work(compiled=True))
            )
            for ours, theirs in zip(rowwise, compiled, strict=True):
                same(ours.begins, theirs.begins)
                same(ours.held, theirs.held)
                settled += ours.held.volts.shape[1]
    assert settled > 10_000


def same(ours: State | Point, theirs: State | Point) -> None:
    for item in fields(ours):
        a, b = getattr(ours, item.name), getattr(theirs, item.name)
        if isinstance(a, np.ndarray):
            assert a.dtype == b.dtype
            assert np.array_equal(a, b), item.name
    assert ours.start is not None
    assert theirs.start is not None
    assert np.array_equal(ours.start.volts, theirs.start.volts)
    assert np.array_equal(ours.start.regions, theirs.start.regions)


def test_the_first_compilation_is_told_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[tuple[str, int, int]] = []
    monkeypatch.setattr(compiled_scripts, "KERNEL", "nothing that is loaded")
    monkeypatch.setattr(compiled_code, "folder", lambda: tmp_path)
    make_ready(lambda *far: told.append(far))
    assert told == [("compile", 0, 1), ("compile", 1, 1)]
    (tmp_path / "kernel_scripts.run_members-1.py311.nbi").touch()
    make_ready(lambda *far: told.append(far))
    assert len(told) == 2


def test_what_is_made_ready_is_what_then_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else a first run would compile, untold, in each of its processes."""
    from latchwork.behaviour.kernel import run_columns
    from latchwork.behaviour.kernel_scripts import run_members

    monkeypatch.setattr(compiled_scripts, "KERNEL", "nothing that is loaded")
    make_ready(lambda *far: None)

    def compiled(kernel: object) -> int:
        return len(kernel.signatures)  # type: ignore[attr-defined]  # what numba makes of it

    ready = compiled(run_columns)
    text = next(iter(jobs().values()))
    for task in tasks(prepare(wire(plan(read_job_text(text, "job.yaml"), catalogue())))):
        task.solve(Work(compiled=True))
    assert compiled(run_members) == 1
    assert compiled(run_columns) == ready == 1
