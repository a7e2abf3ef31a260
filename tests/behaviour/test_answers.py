"""Volts that are remembered: the same bits as without, and often asked for.

Both ways are ours; what either says is held against something outside elsewhere.
"""

from __future__ import annotations

import pytest

from latchwork.behaviour import answers, kernel_room
from latchwork.circuit import Work
from tests.behaviour.test_compiled import same
from tests.behaviour.test_memory import held
from tests.faults.known import jobs


@pytest.mark.parametrize("text", jobs().values(), ids=jobs())
def test_faults_answer_as_they_do_without_a_memory(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With room for one answer alone few are found: the others are worked out."""
    work, without = Work(compiled=True), Work(compiled=True)
    points = held(text, work)
    monkeypatch.setattr(kernel_room, "ANSWERS", 1)
    for ours, theirs in zip(points, held(text, without), strict=True):
        same(ours, theirs)
    assert work.solves + work.known == without.solves + without.known
    assert work.solves < 0.97 * without.solves
    assert work.newton_steps < without.newton_steps


@pytest.mark.parametrize("text", jobs().values(), ids=jobs())
def test_over_rows_few_columns_answer_as_they_do_without_a_memory(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With all columns looked up, and little room, as with none looked up."""
    work, without = Work(), Work()
    monkeypatch.setattr(answers, "FEW", 10**6)
    monkeypatch.setattr(answers, "MOST", 3000)
    points = held(text, work)
    monkeypatch.setattr(answers, "FEW", 0)
    for ours, theirs in zip(points, held(text, without), strict=True):
        same(ours, theirs)
    assert work.solves + work.known == without.solves + without.known
    assert work.solves < 0.97 * without.solves
