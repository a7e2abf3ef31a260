"""Tasks over this machine's cores, answers in the tasks' own order."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import TypeVar

from latchwork.faults.run import Came, Task, run_task

Progress = Callable[[int, int], None]
"""Called with how many of how many points are done."""

WORTH_POINTS = 60_000
"""Fewer are done before a second process has started."""

_here: Sequence[Task] = ()
"""What a process that was forked finds in place: nothing is sent to it but numbers."""

T = TypeVar("T")


def cores() -> int:
    """How many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def spread(todo: Sequence[Task], processes: int | None = None) -> Iterator[Came]:
    """Run tasks, as many at a time as there are cores (or ``processes``)."""
    count = min(processes or cores(), len(todo))
    if count < 2 or sum(t.points for t in todo) < WORTH_POINTS:
        yield from map(run_task, todo)
        return
    forks = sys.platform == "linux"
    global _here
    _here = todo
    pool = ProcessPoolExecutor(
        count, multiprocessing.get_context("fork" if forks else "spawn"), _deaf
    )
    try:
        if forks:
            futures = [pool.submit(_run_here, n) for n in range(len(todo))]
        else:
            futures = [pool.submit(run_task, task) for task in todo]
        for future in futures:
            yield future.result()
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        _here = ()


def _run_here(number: int) -> Came:
    return run_task(_here[number])


def _deaf() -> None:
    """Whoever interrupts means the first process, which tells how far it came."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
