"""Where bolts go by their volts, column by column, against the words of the glossary."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from latchwork.behaviour.moves import bolt_position
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED

volts = st.sampled_from([0.0, 1.2, 3.0, 6.0, 6.6, 8.0, 10.2, 12.0, 24.0])
thresholds = st.tuples(volts, volts, volts, volts)
"""May pick, surely picks, surely holds, surely releases: in any order, as files may have them."""
columns = st.lists(
    st.tuples(st.sampled_from([DROPPED, MARGINAL, PICKED]), volts), min_size=1, max_size=12
)


def by_words(was: int, at_v: float, figures: tuple[float, float, float, float]) -> int:
    """ "The volts at which a coil may or surely does pull in, surely stays in, and surely drops
    out. They differ, so what a coil does depends on what went before." (docs/glossary.md)"""
    may_pick, surely_pick, surely_hold, surely_release = figures
    if was != PICKED and at_v >= surely_pick:
        return PICKED
    if was != DROPPED and at_v < surely_release:
        return DROPPED
    if was == PICKED and at_v >= surely_hold:
        return PICKED
    if was == DROPPED and at_v < may_pick:
        return DROPPED
    return MARGINAL


@given(columns, thresholds)
def test_bolts_of_many_columns_go_where_each_goes_alone(
    its: list[tuple[int, float]], figures: tuple[float, float, float, float]
) -> None:
    was = np.array([w for w, _ in its], dtype=np.int8)
    at_v = np.array([v for _, v in its])
    found = bolt_position(was, at_v, np.array(figures).reshape(4, 1))
    assert found.dtype == np.int8
    assert found.tolist() == [by_words(w, v, figures) for w, v in its]
