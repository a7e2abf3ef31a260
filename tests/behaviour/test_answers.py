"""Volts that are remembered: the same bits as without, and often asked for.

Both ways are ours; what either says is held against something outside elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import pytest

from latchwork.behaviour import answers, kernel_room
from latchwork.circuit import Work
from tests.behaviour.test_compiled import same
from tests.behaviour.test_memory import held
from tests.faults.known import jobs


def alike(text: str, cut: Callable[[], None], *, compiled: bool) -> tuple[Work, Work]:
    """The work with a memory, and once that is ``cut``: the same bits, often enough asked for."""
    work, without = Work(compiled=compiled), Work(compiled=compiled)
    points = held(text, work)
    cut()
    for ours, theirs in zip(points, held(text, without), strict=True):
        same(ours, theirs)
    assert work.solves + work.known == without.solves + without.known
    assert work.solves < 0.97 * without.solves
    return work, without


@pytest.mark.parametrize("text", jobs().values(), ids=jobs())
def test_faults_answer_as_they_do_without_a_memory(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With room for one answer alone few are found: the others are worked out."""
    cut = partial(monkeypatch.setattr, kernel_room, "ANSWERS", 1)
    work, without = alike(text, cut, compiled=True)
    assert work.newton_steps < without.newton_steps


@pytest.mark.parametrize("text", jobs().values(), ids=jobs())
def test_over_rows_few_columns_answer_as_they_do_without_a_memory(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With all columns looked up, and little room, as with none looked up."""
    monkeypatch.setattr(answers, "FEW", 10**6)
    monkeypatch.setattr(answers, "MOST", 3000)
    alike(text, partial(monkeypatch.setattr, answers, "FEW", 0), compiled=False)
