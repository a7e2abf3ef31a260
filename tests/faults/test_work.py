"""The work of fixed small jobs, counted: a slow-down shows here without a clock.

Bounds are what was counted when they were written, and a quarter more. Fewer is better: bring them
down then.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from latchwork.behaviour import Case
from latchwork.circuit import Work
from latchwork.faults.engine import solve_edits
from latchwork.faults.prepare import Prepared, groups_of, prepare, prepare_whole
from tests.faults.known import jobs
from tests.faults.test_whole_supply import site
from tests.truth.solved import wired

MAGNET, ALONE, *_ = jobs().values()


@dataclass(frozen=True)
class Bounds:
    """At most so much a point; ``reused``: the least share of contact positions whose volts were
    known already."""

    eliminations: float
    newton_steps: float
    reductions: float
    reused: float


def spent(cells: list[Prepared], *, compiled: bool) -> tuple[Work, int]:
    """The work of all faults at the first door of each cell, and how many points they are."""
    work, points = Work(compiled=compiled), 0
    for item in cells:
        edits = [(), *(fault.edits for fault in item.cell.faults)]
        solve_edits([item.cell], [0] * len(edits), edits, item.cell.scripts[0], work)
        points += len(edits) * len(item.cell.situations[0])
    return work, points


def whole() -> list[Prepared]:
    wiring = wired(site(4, 3.0))
    groups = groups_of(wiring, ["D1"])
    return list(prepare_whole(wiring, groups, Case.NOMINAL, lambda f: f.id.startswith("D1.lock")))


JOBS: dict[str, Callable[[], list[Prepared]]] = {
    "one door": lambda: prepare(wired(ALONE)),
    "magnet and release": lambda: prepare(wired(MAGNET)),
    "four doors apart": lambda: prepare(wired(site(4, 3.0))),
    "four doors whole": whole,
}
MOST = {  # by job, and whether compiled code does it
    ("one door", False): Bounds(33.9, 2.73, 1.44, 0.28),
    ("magnet and release", False): Bounds(88.4, 4.13, 2.19, 0.22),
    ("four doors apart", False): Bounds(51.2, 3.70, 1.69, 0.27),
    ("four doors whole", False): Bounds(124.8, 2.65, 1.35, 0.31),
    ("one door", True): Bounds(16.2, 2.26, 0.45, 0.37),
    ("magnet and release", True): Bounds(37.7, 3.08, 0.66, 0.36),
    ("four doors apart", True): Bounds(23.2, 2.87, 0.35, 0.34),
    ("four doors whole", True): Bounds(64.1, 2.20, 0.43, 0.36),
}


@pytest.mark.parametrize(("job", "compiled"), MOST)
def test_a_point_takes_no_more_work_than_it_did(job: str, compiled: bool) -> None:
    work, points = spent(JOBS[job](), compiled=compiled)
    most = MOST[job, compiled]
    assert work.eliminations / points <= most.eliminations
    assert work.newton_steps / points <= most.newton_steps
    assert work.reductions / points <= most.reductions
    assert work.known / (work.known + work.solves) >= most.reused
