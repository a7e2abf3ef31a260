"""Faults that do their harm hours later: nobody notices them before, as if they were silent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from latchwork.faults.model import Consequence, Effect, Reading
from latchwork.faults.run import Came, Task


def until_then(came: Came, task: Task) -> Came:
    """What came of a task, with the slow faults of its cells as they are noticed: they are run as
    they end, when everybody notices; what finds them before is a meter alone."""
    slow = {f.id: f.till_then for p in task.cells for f in p.cell.faults if f.till_then}
    if not slow:
        return came
    return replace(
        came,
        consequences=tuple(_unnoticed(c, slow) for c in came.consequences),
        daily=tuple(name for name in came.daily if name not in slow),
    )


def _unnoticed(found: Consequence, slow: Mapping[str, Reading]) -> Consequence:
    reading = slow.get(found.fault)
    if reading is None:
        return found
    also: list[Effect] = [e for e in found.also if e not in (Effect.SILENT, Effect.SHOWS)]
    if found.effect is not Effect.SILENT:
        also.append(Effect.SILENT)
    return replace(found, also=tuple(also), shows_in=(), reading=reading)
