"""The pack's typesetter in a second process, beside the one that runs the site.

It parts when the job has been read, and lays out what parts and wires tell; then it takes the
answers and gives the whole pack. Nothing that solves is imported before: that has threads of its
own, and the two read different code while they are apart. Where a process cannot be doubled, one
does all of it in turn.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import fields
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime
    from multiprocessing.connection import Connection

    from latchwork.papers.content.source import Source
    from latchwork.papers.source import Begun


class Typesetter:
    """The second process, as the first sees it."""

    def __init__(self, line: Connection) -> None:
        self._line = line

    def pdf(self, source: Source) -> bytes | None:
        """The pack as a PDF. None where the second process has ended: what ended it is met again,
        and told, where all is done in turn."""
        try:
            # Answers, not sheets: they take a fifth of the time to send.
            told = {field.name: getattr(source, field.name) for field in fields(source)}
            self._line.send({name: told[name] for name in told if name != "index"})
            return self._line.recv_bytes()
        except (EOFError, OSError):
            return None


@contextmanager
def typesetter(
    begun: Begun, size: str | None, only: Collection[str], day: datetime.date
) -> Iterator[Typesetter | None]:
    """Begin, and end it whatever happens. None: one process does all of it."""
    if not _may_part():
        yield None
        return
    import multiprocessing

    apart = multiprocessing.get_context("fork")
    ours, its = apart.Pipe()
    second = apart.Process(target=_second, args=(its, ours, begun, size, only, day))
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
    begun: Begun,
    size: str | None,
    only: Collection[str],
    day: datetime.date,
) -> None:
    """What the second process does, until the first ends it."""
    import os
    import signal
    from contextlib import suppress

    others.close()
    # The first has the longer way to go, and all its threads are not to be in the way of that.
    os.nice(5)
    # An interrupt is for both; the first ends the second.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(Exception):
        _work(line, begun, size, only, day)


def _work(
    line: Connection, begun: Begun, size: str | None, only: Collection[str], day: datetime.date
) -> None:
    from latchwork.papers.asked import Stamp, paper_of
    from latchwork.papers.content.source import Source
    from latchwork.papers.content.wired import wired
    from latchwork.papers.pack import PackAhead

    paper = paper_of(begun.index, size)
    pack = PackAhead(wired(begun.index), paper, Stamp(day, begun.version), only)
    pack.lay_out()
    told = line.recv()
    line.send_bytes(pack.pdf(Source(index=begun.index, **told)))
