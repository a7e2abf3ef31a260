"""How faults are laid out in tasks changes nothing of what is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import pytest

from latchwork.circuit import Work
from latchwork.faults import run
from latchwork.faults.model import Consequence
from latchwork.faults.prepare import prepare
from tests.faults.known import jobs
from tests.truth.solved import wired


def in_order(told: Iterable[Consequence]) -> list[Consequence]:
    return sorted(told, key=lambda c: (c.door, c.fault))


@pytest.mark.parametrize("job", jobs().values(), ids=list(jobs()))
def test_faults_that_join_what_is_apart_go_by_themselves(
    job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over rows: each fault goes once, the sound door is counted once, and every consequence is
    the same to the bit as where all go together."""
    monkeypatch.setattr(run, "new_work", Work)
    prepared = prepare(wired(job))

    def told(*, apart: bool) -> tuple[list[Consequence], int, int, Counter[str]]:
        monkeypatch.setattr(run, "joins_apart", lambda members, most: apart)
        todo = list(run.tasks(prepared))
        went = Counter(
            task.cells[share.cell].cell.faults[n].id
            for task in todo
            for share in task.shares
            for n in share.faults
        )
        came = [run.run_task(task) for task in todo]
        found = in_order(c for each in came for c in each.consequences)
        points = sum(each.counts.points for each in came)
        return found, points, len(todo), went

    together, points, tasks, went = told(apart=False)
    by_themselves, same, more, again = told(apart=True)
    assert more > tasks
    assert went == again
    assert points == same
    assert by_themselves == together


TWO = """
latchwork: 1
supplies:
  S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah, outputs: {1: {fuse: 1.0 A}}}
  S2: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah, outputs: {1: {fuse: 1.0 A}}}
doors:
  D1:
    supply: S1 out 1
    power lost: unlocks
    out by: nothing mechanical
    lock: {part: magnet 24 V, holds down to: 18 V}
    controller: controller
    reader: reader
    exit: exit button
    runs: {lock: 12 m of 2 x 1.5 mm², exit: 12 m of 4 x 0.22 mm², reader: 5 m of 6 x 0.22 mm²}
  D2:
    supply: S2 out 1
    power lost: unlocks
    out by: nothing mechanical
    lock: {part: magnet 24 V, holds down to: 15 V}
    controller: controller
    reader: reader
    exit: exit button
    runs: {lock: 30 m of 2 x 1.5 mm², exit: 12 m of 4 x 0.22 mm², reader: 5 m of 6 x 0.22 mm²}
"""


@pytest.mark.parametrize("compiled", [False, True])
def test_doors_side_by_side_are_told_as_each_by_itself(
    compiled: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two doors of one shape whose locks let go at different volts, whose timers are alike."""
    monkeypatch.setattr(run, "new_work", lambda: Work(compiled=compiled))
    both = prepare(wired(TWO))
    together = [c for task in run.tasks(both) for c in run.run_task(task).consequences]
    assert len(list(run.tasks(both))) == 1
    alone = [
        c
        for door in ("D1", "D2")
        for task in run.tasks(both, frozenset({door}))
        for c in run.run_task(task).consequences
    ]
    assert {c.door for c in together} == {"D1", "D2"}
    assert in_order(together) == in_order(alone)
