"""Columns that end at different times come back in their order, and empty slots alter nothing."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from latchwork.circuit import Topology, order
from latchwork.circuit.eliminate import ZERO, Row, eliminate, holding
from latchwork.circuit.gather import Gathered

COLUMNS = 3
ends = st.lists(st.integers(0, 4), min_size=1, max_size=30)
"""When each column ends."""
branches = st.lists(
    st.tuples(st.integers(0, 6), st.integers(0, 6), st.booleans()), min_size=1, max_size=14
)
"""Two nodes, and whether anything is there."""


@given(ends)
def test_what_ends_when_it_likes_is_read_in_order(when: list[int]) -> None:
    ended = np.array(when)
    rows = np.arange(2 * len(when)).reshape(2, -1)
    gathered = Gathered()
    at = np.arange(len(when))
    for moment in range(5):
        its = ended[at] == moment
        if its.any():
            gathered.keep_some(at, its, {"rows": rows[:, at], "when": ended[at]})
        at = at[~its]
    found = gathered.read()
    assert np.array_equal(found["rows"], rows)
    assert np.array_equal(found["when"], ended)


@given(branches, st.integers(0, 2**32 - 1))
def test_slots_that_hold_nothing_may_as_well_hold_zeros(
    wires: list[tuple[int, int, bool]], seed: int
) -> None:
    """An open conductor is a conductance of exactly 0: by Ohm's law no current goes there."""
    rng = np.random.default_rng(seed)
    its = order(Topology(7, tuple((a, b) for a, b, _ in wires), ((1, 0), (2, 1))))
    given_: list[Row] = [rng.uniform(0.1, 9.0, COLUMNS) if on else ZERO for _, _, on in wires]
    bare: list[Row | None] = [None] * its.slots
    for row, slot in zip(given_, its.linear_slot, strict=True):
        if slot >= 0 and row is not ZERO:
            before = bare[slot]
            bare[slot] = row if before is None else before + row
    full: list[Row | None] = [np.zeros(COLUMNS) if row is None else row for row in bare]
    amps = [rng.uniform(-1.0, 1.0, COLUMNS) for _ in range(7)]
    volts = np.zeros((2, 7, COLUMNS))
    for n, slots in enumerate((bare, full)):
        currents = list(amps)
        levels = []
        for second in (False, True):
            steps = its.lean(holding(slots), second=second)
            levels.append(eliminate(steps, slots, currents))
        for level in reversed(levels):
            level.substitute(volts[n])
    assert np.array_equal(volts[0], volts[1])
