"""`faults`: points a second, a changed door, 1,000 doors; and the largest difference to ngspice."""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from _jobs import job_text
from _measure import report
from latchwork.faults import Ask, FaultReport, faults
from latchwork.faults.prepare import prepare
from latchwork.faults.spread import cores
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import Wiring, wire

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from tests.faults.known import jobs
from tests.outside.test_faults_spice import compare

QUICK = bool(os.environ.get("QUICK"))
SHARE = 0.02 if QUICK else 0.3
"""How much of the what-ifs of the hand-written doors is held against ngspice."""
MB = 1e6
KIB = 1024


@dataclass(frozen=True)
class Ran:
    """One fault run: single faults at nominal figures."""

    seconds: float
    report: FaultReport

    @property
    def points(self) -> int:
        """What-ifs settled."""
        return self.report.counts.points


def _wired(doors: int) -> Wiring:
    started = time.perf_counter()
    wiring = wire(plan(read_job_text(job_text(doors), "job.yaml"), catalogue()))
    print(f"{doors} doors: read and wired in {time.perf_counter() - started:.1f} s", flush=True)
    return wiring


def _run(wiring: Wiring, doors: list[str] | None = None) -> Ran:
    started = time.perf_counter()
    found = faults(wiring, doors, Ask(attacks=False))
    return Ran(time.perf_counter() - started, found)


def _rss_mb() -> float:
    """Most resident memory of this process and of its largest child, one for each core besides."""
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return (own + child * cores()) * KIB / MB


def main() -> None:
    """Measure and print the closing line."""
    wiring = _wired(1000)
    nodes = sorted(p.cell.network.shape.nodes for p in prepare(wiring, ["D1", "D40", "D500"]))
    print(f"nodes of a network: {nodes[0]} to {nodes[-1]}", flush=True)
    many = _run(wiring)
    counts = many.report.counts
    print(f"1000 doors: {many.seconds:.1f} s, {counts}", flush=True)
    door = f"D{len(wiring.plan.doors) // 2}"
    _run(wiring, [door])
    one = min(_run(wiring, [door]).seconds for _ in range(3))
    compared, worst = 0, 0.0
    for text in jobs().values():
        with tempfile.TemporaryDirectory() as folder:
            some, apart_v = compare(
                text, SHARE, int(np.random.PCG64(1).random_raw() % 97), Path(folder)
            )
        compared, worst = compared + some, max(worst, apart_v)
    print(f"{compared} what-ifs held against ngspice's operating points", flush=True)
    report(
        "faults",
        points_per_s=many.points / many.seconds,
        max_dv_v=worst,
        doors_1000_s=many.seconds,
        doors_1000_rss_mb=_rss_mb(),
        doors_1000_points=many.points,
        one_door_s=one,
        solved=counts.solved,
        unsolved=counts.unsolved,
        eliminations=counts.eliminations,
        newton_steps=counts.newton_steps,
        reductions=counts.reductions,
    )


if __name__ == "__main__":
    main()
