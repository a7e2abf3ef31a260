"""Many what-ifs side by side: no column hangs on another, nor on the order of anything."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from latchwork.behaviour.shape import compile_shape, stacked
from latchwork.behaviour.state import Batch, Point, State, dead, with_inputs
from latchwork.behaviour.timing import step
from tests.behaviour.board import Ready, assert_point_conserved, side_by_side
from tests.behaviour.doors import door, inputs

COLUMNS = 60


def set_in(ready: Ready, state: State, rows: dict[str, np.ndarray]) -> State:
    return with_inputs(state, {ready.net.flags[name]: row for name, row in rows.items()})


def run(ready: Ready, batch: Batch, rows: list[dict[str, np.ndarray]]) -> tuple[State, list[Point]]:
    """From dead through each set of inputs, two seconds each."""
    state = dead(batch.compiled, batch.columns)
    points = []
    for given in rows:
        state, point = step(batch, set_in(ready, state, given), 2.0)
        assert_point_conserved(batch, point)
        points.append(point)
    return state, points


def same(ours: object, theirs: object, column: int) -> None:
    """Column 0 of ``ours`` is ``column`` of ``theirs``, bit for bit."""
    for item in fields(ours):  # type: ignore[arg-type]  # both are dataclasses
        if item.name in ("start", "rest"):
            continue
        a, b = getattr(ours, item.name), getattr(theirs, item.name)
        assert np.array_equal(a[..., 0], b[..., column]), item.name


def test_a_column_alone_equals_itself_among_others_bit_for_bit() -> None:
    rng = np.random.default_rng(40)
    readies = [door(rng).ready() for _ in range(COLUMNS)]
    batch = side_by_side(readies)
    rows = [inputs(rng, COLUMNS) for _ in range(4)]
    state, points = run(readies[0], batch, rows)
    assert all(point.solved.all() for point in points)
    assert any(point.flags.any(axis=1).any() for point in points)
    for n in range(COLUMNS):
        own = Batch.of(batch.compiled, readies[n].values, 1)
        single = [{name: row[n : n + 1] for name, row in given.items()} for given in rows]
        alone, alone_points = run(readies[n], own, single)
        same(alone, state, n)
        for a, b in zip(alone_points, points, strict=True):
            same(a, b, n)


def test_like_columns_share_their_values_and_differ_in_inputs_alone() -> None:
    """One set of values for every column against the same values written out in each."""
    rng = np.random.default_rng(41)
    ready = door(rng).ready()
    compiled = compile_shape(ready.net.shape)
    rows = [inputs(rng, COLUMNS) for _ in range(3)]
    shared, _ = run(ready, Batch.of(compiled, ready.values, COLUMNS), rows)
    written = stacked([ready.values, ready.values], np.zeros(COLUMNS, dtype=np.intp))
    spread, _ = run(ready, Batch.of(compiled, written, COLUMNS), rows)
    for n in range(COLUMNS):
        assert np.array_equal(shared.flags[:, n], spread.flags[:, n])
        assert np.array_equal(shared.bolts[:, n], spread.bolts[:, n])
        assert np.array_equal(shared.left_s[:, n], spread.left_s[:, n])


@pytest.mark.slow_oracle
def test_the_order_in_which_things_are_set_down_alters_nothing() -> None:
    rng = np.random.default_rng(42)
    for _ in range(25):
        board = door(rng)
        ready, mixed = board.ready(), board.shuffled(rng).ready()
        rows = [inputs(rng, 8) for _ in range(4)]
        ours, our_points = run(ready, ready.batch(8), rows)
        theirs, their_points = run(mixed, mixed.batch(8), rows)
        for name, n in ready.net.flags.items():
            assert np.array_equal(ours.flags[n], theirs.flags[mixed.net.flags[name]]), name
        for name in ready.net.bolts:
            mine, other = ready.net.bolts.index(name), mixed.net.bolts.index(name)
            assert np.array_equal(ours.bolts[mine], theirs.bolts[other])
        for a, b in zip(our_points, their_points, strict=True):
            assert np.array_equal(a.chatter, b.chatter)
            for name, n in ready.net.nodes.items():
                off = np.abs(a.volts[n] - b.volts[mixed.net.nodes[name]])
                assert (off[a.solved & ~a.chatter] < 1e-6).all(), name
