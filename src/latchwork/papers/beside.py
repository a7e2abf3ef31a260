"""Drawings of a large job, made in a second process while the first runs the site.

Nothing heavy is imported here: the second process starts before the first has read its own code.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from latchwork.papers.content.pictures import Pictures

MANY_BYTES = 24_000
"""From a job file of that size on (some forty doors) a second process pays."""
DIGITS = 8
"""Of a job's fingerprint: enough to tell its versions apart."""
JOB = "job.yaml"


@contextmanager
def ahead(path: Path) -> Iterator[Callable[[], tuple[str, Pictures]] | None]:
    """Start on a large job. What is given waits for it: the fingerprint of the files that were
    read, and what was made of them. None: the job is too small."""
    file = path / JOB if path.is_dir() else path
    if not file.is_file() or file.stat().st_size < MANY_BYTES:
        yield None
        return
    import gc
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor
    from threading import Thread

    others = multiprocessing.active_children()
    apart = multiprocessing.get_context("spawn")
    second = ProcessPoolExecutor(1, mp_context=apart, initializer=gc.disable)
    future = second.submit(_made_of, path)
    # It takes a while to go, in which nobody need wait.
    leaving = Thread(target=second.shutdown)

    def waited() -> tuple[str, Pictures]:
        try:
            return future.result()
        finally:
            leaving.start()

    try:
        yield waited
    except BaseException:
        for child in multiprocessing.active_children():
            if child not in others:
                child.terminate()
        raise
    finally:
        if leaving.ident is None:
            leaving.start()
        leaving.join()


def _made_of(path: Path) -> tuple[str, Pictures]:
    from latchwork.answers import open_job
    from latchwork.drawing import index
    from latchwork.papers.content.pictures import pictures

    opened = open_job(path)
    before = fingerprint(opened.folder.job_file)
    return before, pictures(index(opened.wiring))


def fingerprint(job: Path) -> str:
    """Of a job file and its pinned parts: the same figures on paper come from the same files."""
    import hashlib

    from latchwork.folder import PARTS_LOCK

    digest = hashlib.sha256(job.read_bytes())
    pins = job.parent / PARTS_LOCK
    if pins.exists():
        digest.update(pins.read_bytes())
    return digest.hexdigest()[:DIGITS]
