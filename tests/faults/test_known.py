"""Single faults whose outcome any fitter knows: see ``known.md``."""

from __future__ import annotations

from functools import cache

import pytest

from latchwork.faults import Ask, Consequence, FaultReport, faults
from latchwork.faults.prepare import prepare
from tests.faults.known import Known, jobs, known
from tests.truth.solved import wired


@cache
def report(job: str) -> FaultReport:
    return faults(wired(job), ask=Ask(attacks=False, processes=1))


@cache
def listed(job: str) -> frozenset[str]:
    (cell,) = prepare(wired(job))
    return frozenset(f.id for f in cell.cell.faults)


def found(row: Known) -> Consequence | None:
    return next((c for c in report(row.job).consequences if c.fault == row.fault), None)


@pytest.mark.parametrize("row", known(), ids=str)
def test_a_fault_does_what_any_fitter_knows(row: Known) -> None:
    assert row.fault in listed(row.job)
    consequence = found(row)
    if consequence is None:
        assert (row.effect, row.situation) == ("", "")
    else:
        assert (consequence.effect.value, consequence.situation) == (row.effect, row.situation)


@pytest.mark.parametrize("section", jobs())
def test_a_lever_is_never_trapped_by_a_fault(section: str) -> None:
    if "lever" in jobs()[section]:
        effects = {c.effect.value for c in report(jobs()[section]).consequences}
        assert not effects & {"traps", "blocks the exit"}
