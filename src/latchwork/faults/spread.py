"""Lots of work over this machine's cores, each in a process of its own."""

from __future__ import annotations

import ctypes
import gc
import multiprocessing
import os
import signal
import sys
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from types import TracebackType
from typing import Any, Protocol, TypeVar

from latchwork.behaviour import make_ready
from latchwork.behaviour.compiled import compiles

Lot = TypeVar("Lot")
Came = TypeVar("Came")
Task = TypeVar("Task")
Tell = Callable[[str, int, int], None]
"""Called with what is being done, and how much of how much is."""

WORTH_DOORS = 24
"""Fewer are done before a second process has begun."""
TRIES = 2
"""How often a lot is begun whose process ends before it is done."""


class Lost(Exception):
    """Work that could not be done to its end: a process was ended from outside, as for want of
    memory."""


class Over(Protocol):
    """Where lots are worked at. Entered before anything is asked of it, left when all is done."""

    def __enter__(self) -> Over: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def lots(self, doors: int) -> int:
        """How many lots are worth it for so many doors."""
        ...

    def run(
        self,
        do: Callable[[Lot, Tell], Came],
        lots: Sequence[Lot],
        take: Callable[[int, Came], None],
        tell: Tell | None = None,
    ) -> None:
        """``do`` every lot and ``take`` what comes with its number, in whatever order it comes."""
        ...


def cores() -> int:
    """How many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _nobody(_what: str, _done: int, _total: int) -> None:
    """Nobody wants to know."""


@contextmanager
def uncollected() -> Iterator[None]:
    """While nothing looks for rubbish: a run leaves none, and to look through a large site for it
    again and again takes a tenth of the time. What the run made counts as old then: all of it
    would be looked through at once."""
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            if gc.get_freeze_count() == 0:
                gc.freeze()
                gc.unfreeze()
            gc.enable()


def threads(alone: bool, processes: int | None = None) -> int:
    """How many tasks of a lot are worth solving side by side: of one that is ``alone``, in compiled
    code, as many as there are ``processes``, or cores."""
    return (processes or cores()) if alone and compiles() else 1


SWITCH_S = 5e-4
"""How long a thread waits at most for one that is not in compiled code."""


def side_by_side(do: Callable[[Task], Came], tasks: Sequence[Task], threads: int) -> Iterator[Came]:
    """``do`` every task, so many at a time; what comes, in their order. Worth it where most of the
    time goes by in compiled code: all else is done by one thread at a time."""
    if threads == 1 or len(tasks) < 2:
        yield from map(do, tasks)
        return
    usual_s = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH_S)
    try:
        with ThreadPoolExecutor(threads) as pool:
            yield from pool.map(do, tasks)
    finally:
        sys.setswitchinterval(usual_s)


class Cores:
    """This machine's cores: so many ``processes`` at a time, or as many as there are cores."""

    def __init__(self, processes: int | None = None) -> None:
        self._most = processes or cores()

    def __enter__(self) -> Cores:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        pass

    def lots(self, doors: int) -> int:
        """One for each core, where there are doors enough."""
        return self._most if doors >= WORTH_DOORS else 1

    def run(
        self,
        do: Callable[[Lot, Tell], Came],
        lots: Sequence[Lot],
        take: Callable[[int, Came], None],
        tell: Tell | None = None,
    ) -> None:
        """As ``Over`` says; a single lot is done in this process. Raises Lost."""
        make_ready(tell or _nobody)
        with uncollected():
            self._run(do, lots, take, tell)

    def _run(
        self,
        do: Callable[[Lot, Tell], Came],
        lots: Sequence[Lot],
        take: Callable[[int, Came], None],
        tell: Tell | None,
    ) -> None:
        far = Far(tell, len(lots), self._most)
        if len(lots) == 1 or self._most == 1:
            for n, lot in enumerate(lots):
                take(n, do(lot, far.of(n)))
            return
        far.begin()
        waiting = deque((n, TRIES) for n in range(len(lots)))
        running: dict[Connection, _Running] = {}
        try:
            while waiting or running:
                while waiting and len(running) < self._most:
                    n, tries = waiting.popleft()
                    pipe, process = _begun(do, lots[n], list(running))
                    running[pipe] = _Running(n, tries - 1, process)
                for pipe, said in _heard(running):
                    at = running[pipe]
                    if said is not None and said[0] == "far":
                        far.of(at.lot)(*said[1])
                        continue
                    _end(pipe, running.pop(pipe).process)
                    if said is None and not at.tries:
                        raise Lost
                    if said is None:
                        waiting.append((at.lot, at.tries))
                    elif said[0] == "failed":
                        raise said[1]
                    else:
                        take(at.lot, said[1])
                        far.did()
        finally:
            for pipe, at in running.items():
                _end(pipe, at.process)


class _Running:
    """A process at work: its lot, and how often that may still be begun again."""

    def __init__(self, lot: int, tries: int, process: BaseProcess) -> None:
        self.lot, self.tries, self.process = lot, tries, process


def _begun(
    do: Callable[[Any, Tell], Any], lot: Any, others: list[Connection]
) -> tuple[Connection, BaseProcess]:
    """A process that has begun a lot, and the pipe through which it speaks."""
    forks = sys.platform == "linux"
    ours, theirs = multiprocessing.Pipe(duplex=False)
    # A fork has the ends at which this process listens; kept open, they would hide that it is gone.
    heard = [ours, *others] if forks else []
    args = (do, lot, theirs, heard)
    if forks:
        process: BaseProcess = multiprocessing.get_context("fork").Process(
            target=_work, args=args, daemon=True
        )
    else:
        process = multiprocessing.get_context("spawn").Process(target=_work, args=args, daemon=True)
    process.start()
    theirs.close()
    return ours, process


def _heard(running: dict[Connection, _Running]) -> list[tuple[Connection, tuple[str, Any] | None]]:
    """What the processes say next; None: the process is gone."""
    found: list[tuple[Connection, tuple[str, Any] | None]] = []
    for pipe in wait(list(running)):
        assert isinstance(pipe, Connection)
        try:
            found.append((pipe, pipe.recv()))
        except (EOFError, OSError):
            found.append((pipe, None))
    return found


MMAP_THRESHOLD, TRIM_THRESHOLD = -3, -1
"""Of the C library's ``mallopt``, by its header."""
ALL_OF_IT = 1 << 30


def _keep_memory() -> None:
    """Let what a task gives back serve the next: to be given fresh pages for each of its large
    tables took a twentieth of the time."""
    tune = getattr(ctypes.CDLL(None), "mallopt", None) if sys.platform == "linux" else None
    if tune is not None:
        tune(MMAP_THRESHOLD, ALL_OF_IT)
        tune(TRIM_THRESHOLD, ALL_OF_IT)


def _end(pipe: Connection, process: BaseProcess) -> None:
    pipe.close()
    process.terminate()
    process.join()
    process.close()


def _work(
    do: Callable[[Any, Tell], Any], lot: Any, pipe: Connection, heard: list[Connection]
) -> None:
    """What each process does. Whoever interrupts means the first one, which tells how far it
    came; where that one is gone, nobody listens any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.disable()
    _keep_memory()
    for other in heard:
        other.close()
    try:
        try:
            came = do(lot, lambda what, done, total: pipe.send(("far", (what, done, total))))
        except BrokenPipeError:
            raise
        except Exception as error:  # told where the work was asked for
            pipe.send(("failed", error))
        else:
            pipe.send(("came", came))
    except BrokenPipeError:
        pipe.close()


class Far:
    """How far all lots together are: by what they say themselves where all are worked at at the
    same time, else by how many are done."""

    def __init__(self, tell: Tell | None, lots: int, at_once: int) -> None:
        self._tell = tell
        self._lots = lots
        self._by_lot = lots > at_once > 1
        self._done: dict[str, dict[int, tuple[int, int]]] = {}
        self._did = 0

    def of(self, lot: int) -> Tell:
        """What one lot calls."""

        def tell(what: str, done: int, total: int) -> None:
            its = self._done.setdefault(what, {})
            its[lot] = done, total
            if self._tell is not None and not self._by_lot and len(its) == self._lots:
                self._tell(what, sum(d for d, _ in its.values()), sum(t for _, t in its.values()))

        return tell

    def begin(self) -> None:
        """No lot is done yet."""
        self._lots_done(0)

    def did(self) -> None:
        """One more lot is done."""
        self._lots_done(self._did + 1)

    def _lots_done(self, count: int) -> None:
        self._did = count
        if self._tell is not None and self._by_lot:
            self._tell("lots", self._did, self._lots)
