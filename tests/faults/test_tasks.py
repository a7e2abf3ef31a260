"""How faults are laid out in tasks changes nothing of what is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import pytest

from latchwork.circuit import Work
from latchwork.faults import run, tasks
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
        monkeypatch.setattr(tasks, "joins_apart", lambda members, most: apart)
        todo = list(tasks.tasks(prepared))
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

    together, points, few, went = told(apart=False)
    by_themselves, same, more, again = told(apart=True)
    assert more > few
    assert went == again
    assert points == same
    assert by_themselves == together
