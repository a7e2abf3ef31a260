"""`faults`: points a second by rows and compiled, 1,000 and 10,000 doors, a changed door, and
ngspice's shared library at the same doors.

A point is one fault at one door in one situation that its network tells apart, settled to its last
contact positions as it begins and held. Reading the job is off the clock, making its cells ready
and judging what comes are on it. QUICK=1 leaves out the 10,000 doors, and the 1,000 by rows.
"""

from __future__ import annotations

import multiprocessing
import os
import resource
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from _jobs import job_text
from _measure import report
from latchwork.behaviour import compiled, make_ready
from latchwork.faults import Ask, Counts, Held, again, faults, hold
from latchwork.faults.prepare import prepare
from latchwork.faults.run import run_task
from latchwork.faults.spread import cores
from latchwork.faults.tasks import Task, tasks
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import Wiring, wire
from ngspice_shared import measure

QUICK = bool(os.environ.get("QUICK"))
FULL_DOORS = 100
BY_ROWS_DOORS = 40 if QUICK else 100
SPICE_S = 1.5 if QUICK else 8.0
OURS_S = 1.0 if QUICK else 2.0
BEST_OF = 3
"""What takes a second or two is run so often, and the shortest told: others use the machine too."""
MB = 1e6
KIB = 1024
SINGLES = Ask(attacks=False)


@dataclass(frozen=True)
class Ran:
    """One fault run: single faults at nominal figures."""

    seconds: float
    counts: Counts

    @property
    def points(self) -> int:
        """What-ifs that their networks tell apart."""
        return self.counts.distinct

    @property
    def points_per_s(self) -> float:
        """How many of them a second."""
        return self.points / self.seconds


def _wired(text: str, what: str) -> Wiring:
    started = time.perf_counter()
    wiring = wire(plan(read_job_text(text, "job.yaml"), catalogue()))
    print(f"{what}: read and wired in {time.perf_counter() - started:.1f} s", flush=True)
    return wiring


@contextmanager
def _by_rows() -> Iterator[None]:
    """As where nothing that compiles is installed."""
    os.environ["LATCHWORK_SOLVER"] = "numpy"
    compiled.compiles.cache_clear()
    try:
        yield
    finally:
        del os.environ["LATCHWORK_SOLVER"]
        compiled.compiles.cache_clear()


def _run(wiring: Wiring, what: str) -> Ran:
    started = time.perf_counter()
    counts = faults(wiring, None, SINGLES).counts
    return _shown(Ran(time.perf_counter() - started, counts), what)


def _held(wiring: Wiring, what: str) -> tuple[Ran, Held]:
    """A run that is held."""
    started = time.perf_counter()
    held = hold(wiring, SINGLES)
    return _shown(Ran(time.perf_counter() - started, held.report.counts), what), held


def _shown(ran: Ran, what: str) -> Ran:
    per = (ran.counts.eliminations, ran.counts.newton_steps, ran.counts.reductions)
    work = ", ".join(f"{n / ran.points:.1f}" for n in per)
    print(
        f"{what}: {ran.seconds:.1f} s, {ran.points:,} points, {ran.points_per_s:,.0f} a second; "
        f"eliminations, Newton steps, reductions a point: {work}",
        flush=True,
    )
    return ran


def _rss_mb() -> float:
    """Most resident memory of this process and of its largest child, one for each core besides."""
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return (own + child * cores()) * KIB / MB


def _changed_s(held: Held, text: str, door: str) -> float:
    """A run that is held, run again after one door's run has grown longer; the shortest."""
    place = text.index(f"  {door}:")
    at = text.index("power: ", place)
    best = float("inf")
    for more in map(str, range(1, BEST_OF + 1)):
        edited = text[:at] + "power: " + more + text[at + len("power: ") :]
        wiring = _wired(edited, f"{door} with a longer run")
        started = time.perf_counter()
        again(held, wiring)
        best = min(best, time.perf_counter() - started)
    return best


def _ours(work: tuple[list[Task], float]) -> float:
    todo, seconds = work
    points, started = 0, time.perf_counter()
    while time.perf_counter() - started < seconds:
        for task in todo:
            points += run_task(task).counts.distinct
    return points / (time.perf_counter() - started)


def _ratio(doors: int) -> tuple[float, float]:
    """How many times as fast as ngspice we settle and judge every fault of the doors of a supply
    with so many, and the largest difference in volts."""
    theirs, worst_v = measure(doors, SPICE_S)
    wiring = _wired(job_text(52), "the doors that ngspice solved")
    groups = {p.group: p for p in prepare(wiring)}
    group = next(doors_of for doors_of in groups if len(doors_of) == doors)
    todo = list(tasks(prepare(wiring, group)))
    with multiprocessing.get_context("fork").Pool(cores()) as pool:
        ours = sum(pool.map(_ours, [(todo, OURS_S)] * cores(), chunksize=1))
    print(f"ours at the same doors: {ours:,.0f} what-ifs/s, positions found besides", flush=True)
    return ours / theirs, worst_v


def main() -> None:
    """Measure and print the closing line."""
    started = time.perf_counter()
    make_ready(lambda what, done, total: None)
    print(
        f"{cores()} cores; compiled code ready in {time.perf_counter() - started:.1f} s",
        flush=True,
    )
    full = _wired(job_text(FULL_DOORS, full=True), f"{FULL_DOORS} doors with everything")
    nodes = sorted(p.cell.network.shape.nodes for p in prepare(full))
    print(f"nodes of their networks: {nodes[0]} to {nodes[-1]}", flush=True)
    fast = min((_run(full, "compiled") for _ in range(BEST_OF)), key=lambda ran: ran.seconds)
    # Before all else that is large, so that the most memory so far is theirs.
    thousand = _wired(job_text(1000), "1,000 doors")
    many_fast, held = _held(thousand, "1,000 doors, compiled")
    figures = {"doors_1000_fast_s": many_fast.seconds, "doors_1000_points": float(many_fast.points)}
    figures["doors_1000_rss_mb"] = _rss_mb()
    with _by_rows():
        some = _wired(job_text(BY_ROWS_DOORS, full=True), f"{BY_ROWS_DOORS} doors with everything")
        rows = _run(some, "by rows")

    if not QUICK:
        with _by_rows():
            figures["doors_1000_s"] = _run(thousand, "1,000 doors, by rows").seconds
    figures["one_door_s"] = _changed_s(held, job_text(1000), "D38")
    del thousand, held
    if not QUICK:
        ten = _run(_wired(job_text(10_000), "10,000 doors"), "10,000 doors, compiled")
        figures |= {"doors_10000_fast_s": ten.seconds, "doors_10000_points": float(ten.points)}
    ratio_1, worst_1_v = _ratio(1)
    ratio_16, worst_16_v = _ratio(16)
    report(
        "faults",
        points_per_s=rows.points_per_s,
        points_per_s_fast=fast.points_per_s,
        ngspice_ratio_1=ratio_1,
        ngspice_ratio_16=ratio_16,
        max_dv_v=max(worst_1_v, worst_16_v),
        **figures,
        eliminations_a_point=fast.counts.eliminations / fast.points,
        newton_steps_a_point=fast.counts.newton_steps / fast.points,
        reductions_a_point=fast.counts.reductions / fast.points,
    )


if __name__ == "__main__":
    main()
