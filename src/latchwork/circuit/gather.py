"""Columns that end at different times, put together again in their order.

To keep what ended and to put all of it in order at the end takes half as long as to write each
column where it belongs: each number is moved twice, but runs of them at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

Tables = Mapping[str, NDArray[Any]]
"""Tables by name, whose last axis is columns."""


class Gathered:
    """What has been kept so far, some columns at a time."""

    def __init__(self) -> None:
        self._at: list[NDArray[np.intp]] = []
        self._parts: list[Tables] = []

    def keep(self, at: NDArray[np.intp], tables: Tables) -> None:
        """Keep all columns of ``tables``; ``at``: where each of them belongs."""
        self._at.append(at)
        self._parts.append(tables)

    def keep_some(self, at: NDArray[np.intp], ends: NDArray[np.bool_], tables: Tables) -> None:
        """Keep the columns of ``tables`` that end."""
        if not ends.all():
            its = np.flatnonzero(ends)
            at = at.take(its)
            tables = {name: table.take(its, axis=-1) for name, table in tables.items()}
        self.keep(at, tables)

    def read(self) -> Tables:
        """All of it, in order; every column was kept once."""
        if len(self._parts) == 1:
            return self._parts[0]
        at = np.concatenate(self._at)
        place = np.empty(len(at), dtype=np.intp)
        place[at] = np.arange(len(at))
        return {
            name: np.concatenate([part[name] for part in self._parts], axis=-1).take(place, axis=-1)
            for name in self._parts[0]
        }
