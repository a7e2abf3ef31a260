"""The pack's typesetter in a second process, beside the one that runs the site.

It reads the job itself and lays out what parts and wires tell; then it takes the other sheets and
gives the whole pack. Nothing heavy is imported here: the processes part before either has read its
own code. Where that cannot be had, one process does all of it in turn.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime
    from multiprocessing.connection import Connection

    from latchwork.papers.content.source import Source


class Typesetter:
    """The second process, as the first sees it."""

    def __init__(self, line: Connection) -> None:
        self._line = line

    def pdf(self, source: Source, version: str, only: Collection[str]) -> bytes | None:
        """The pack as a PDF. None where the second process has ended (what ended it is met again
        where all is done in turn), and where the job was changed meanwhile."""
        from latchwork.papers.pack import pack_sheets

        try:
            its, paper, ahead = self._line.recv()
            if its != version:
                return None
            self._line.send(pack_sheets(source, paper, only, ahead))
            return self._line.recv_bytes()
        except (EOFError, OSError):
            return None


@contextmanager
def typesetter(
    job: Path, size: str | None, only: Collection[str], day: datetime.date
) -> Iterator[Typesetter | None]:
    """Begin, and end it whatever happens. None: one process does all of it."""
    if not _may_part():
        yield None
        return
    import multiprocessing

    apart = multiprocessing.get_context("fork")
    ours, its = apart.Pipe()
    second = apart.Process(target=_second, args=(its, ours, job, size, only, day))
    second.start()
    its.close()
    try:
        yield Typesetter(ours)
    finally:
        ours.close()
        second.kill()
        second.join()


def _may_part() -> bool:
    """Whether a process can be doubled: that is cheap on Linux alone, and sound only as long as
    there are no threads, of Python or of compiled code."""
    loaded = sys.modules.keys() & {"numpy", "typst"}
    return sys.platform == "linux" and threading.active_count() == 1 and not loaded


def _second(
    line: Connection,
    others: Connection,
    job: Path,
    size: str | None,
    only: Collection[str],
    day: datetime.date,
) -> None:
    """What the second process does, until the first ends it."""
    import signal
    from contextlib import suppress

    others.close()
    # An interrupt is for both, and what is wrong with a job is found by both: the first tells it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(Exception):
        _work(line, job, size, only, day)


def _work(
    line: Connection, job: Path, size: str | None, only: Collection[str], day: datetime.date
) -> None:
    from latchwork.answers.opening import open_job
    from latchwork.drawing import index
    from latchwork.papers.content.wired import wired
    from latchwork.papers.pack import PackAhead, Stamp, fingerprint, paper_of

    opened = open_job(job)
    version = fingerprint(opened.folder.job_file)
    found = wired(index(opened.wiring))
    paper = paper_of(found.index, size)
    pack = PackAhead(found, paper, Stamp(day, version), only)
    line.send((version, paper, pack.ahead))
    pack.lay_out()
    line.send_bytes(pack.pdf(line.recv()))
