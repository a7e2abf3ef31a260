"""Work over this machine's cores, answers in its own order."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any, TypeVar

WORTH_POINTS = 60_000
"""Fewer are done before a second process has started."""

Task = TypeVar("Task")
Came = TypeVar("Came")

_here: tuple[Callable[[Any], Any], Sequence[Any]]
"""What a process does, and with what: set once in each, so that numbers alone are sent to it."""


def cores() -> int:
    """How many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def spread(
    do: Callable[[Task], Came], todo: Sequence[Task], points: int, processes: int | None = None
) -> Iterator[Came]:
    """``do`` each of ``todo``, as many at a time as there are cores (or ``processes``), where
    ``points`` in all are worth it."""
    count = min(processes or cores(), len(todo))
    if count < 2 or points < WORTH_POINTS:
        yield from map(do, todo)
        return
    context = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    pool = ProcessPoolExecutor(count, context, _begin, (do, todo))
    try:
        futures = [pool.submit(_do, n) for n in range(len(todo))]
        for future in futures:
            yield future.result()
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _begin(do: Callable[[Any], Any], todo: Sequence[Any]) -> None:
    """Whoever interrupts means the first process, which tells how far it came."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    global _here
    _here = do, todo


def _do(number: int) -> Any:
    do, todo = _here
    return do(todo[number])
