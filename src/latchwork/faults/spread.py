"""Lots of work over this machine's cores, each in a process of its own; answers in their order."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import Connection, wait
from typing import Any, TypeVar

Lot = TypeVar("Lot")
Came = TypeVar("Came")
Tell = Callable[[str, int, int], None]
"""Called with what is being done, and how much of how much is."""


class Lost(Exception):
    """A process ended before its work was done."""


def cores() -> int:
    """How many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def spread(
    do: Callable[[Lot, Tell], Came], lots: Sequence[Lot], tell: Tell | None = None
) -> list[Came]:
    """``do`` every lot, all at the same time where there are several."""
    far = _Far(tell, len(lots))
    if len(lots) == 1:
        return [do(lots[0], far.of(0))]
    if sys.platform == "linux":
        process_of = multiprocessing.get_context("fork").Process
    else:
        process_of = multiprocessing.get_context("spawn").Process
    pipes: dict[Connection, int] = {}
    processes = []
    try:
        for n, lot in enumerate(lots):
            ours, theirs = multiprocessing.Pipe(duplex=False)
            process = process_of(target=_work, args=(do, lot, theirs), daemon=True)
            process.start()
            theirs.close()
            processes.append(process)
            pipes[ours] = n
        came: dict[int, Came] = {}
        for n, (kind, what) in _heard(pipes):
            if kind == "far":
                far.of(n)(*what)
            elif kind == "came":
                came[n] = what
            else:
                raise what
        return [came[n] for n in range(len(lots))]
    finally:
        for process in processes:
            process.terminate()
            process.join()


def _heard(pipes: dict[Connection, int]) -> Iterator[tuple[int, tuple[str, Any]]]:
    """What the processes say, as it comes, until each has said what came."""
    waiting = dict(pipes)
    while waiting:
        for pipe in wait(list(waiting)):
            assert isinstance(pipe, Connection)
            try:
                said = pipe.recv()
            except EOFError:
                raise Lost from None
            n = waiting[pipe]
            if said[0] != "far":
                del waiting[pipe]
            yield n, said


def _work(do: Callable[[Any, Tell], Any], lot: Any, pipe: Connection) -> None:
    """What each process does. Whoever interrupts means the first one, which tells how far it
    came."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        came = do(lot, lambda what, done, total: pipe.send(("far", (what, done, total))))
    except Exception as error:  # told where the work was asked for
        pipe.send(("failed", error))
    else:
        pipe.send(("came", came))


class _Far:
    """How far all lots together are."""

    def __init__(self, tell: Tell | None, lots: int) -> None:
        self._tell = tell
        self._lots = lots
        self._done: dict[str, dict[int, tuple[int, int]]] = {}

    def of(self, lot: int) -> Tell:
        """What one lot calls."""

        def tell(what: str, done: int, total: int) -> None:
            its = self._done.setdefault(what, {})
            its[lot] = done, total
            if self._tell is not None and len(its) == self._lots:
                self._tell(what, sum(d for d, _ in its.values()), sum(t for _, t in its.values()))

        return tell
