"""A sign that work goes on: one line on the terminal, gone when it is done."""

from __future__ import annotations

import shutil
import sys
import time
from types import TracebackType

BEGUN = "…"
"""Shown from the start."""
PATIENCE_S = 0.5
"""Nothing else is shown before."""


class Progress:
    """Shown on stderr, on a terminal only."""

    def __init__(self) -> None:
        self._start_s = time.monotonic()
        self._shown = False
        self._wanted = sys.stderr.isatty()

    def __enter__(self) -> Progress:
        # What does the work is still to be read in, which takes longest on a slow machine.
        self.tell(BEGUN, at_once=True)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    def doors(self, done: int, total: int) -> None:
        """How many runs of doors are done."""
        self.tell(f"{100 * done // max(total, 1):3d} %")

    def tell(self, what: str, *, at_once: bool = False) -> None:
        """What is being worked at; ``at_once``: it is known to take its time."""
        early = time.monotonic() - self._start_s < PATIENCE_S
        if not self._wanted or (early and not at_once):
            return
        self._shown = True
        width = shutil.get_terminal_size((80, 24)).columns - 1
        sys.stderr.write(f"\r\x1b[K{what[:width]}")
        sys.stderr.flush()
