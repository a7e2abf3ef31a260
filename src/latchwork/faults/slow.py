"""Faults that do their harm hours later: nobody notices them before, as if they were silent."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from msgspec.structs import replace as put

from latchwork.behaviour import Power
from latchwork.faults.model import Consequence, Effect, Fault, Reading
from latchwork.faults.run import Came
from latchwork.faults.tasks import Task
from latchwork.parts import DEAD, DEAD_AND_FLAT


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
        noticed=tuple(name for name in came.noticed if name not in slow),
    )


def _unnoticed(found: Consequence, slow: Mapping[str, Reading]) -> Consequence:
    reading = slow.get(found.fault)
    if reading is None:
        return found
    also: list[Effect] = [e for e in found.also if e not in (Effect.SILENT, Effect.SHOWS)]
    if found.effect is not Effect.SILENT:
        also.append(Effect.SILENT)
    return put(found, also=tuple(also), shows_in=(), reading=reading)


def told_once(found: Iterable[Consequence], faults: Mapping[str, Fault]) -> tuple[Consequence, ...]:
    """What came at one door, each supply that dies told once.

    One with a battery is as on battery, which the sound door tells, until that is flat: that
    nothing comes back after an outage is the same again. Where it does at once what it does with
    its battery flat, as a battery that was found dead carries nothing on, that is what is told.
    """
    kept = [c for c in found if not (_dies(c, faults) and c.situation.startswith(Power.RETURNS))]
    at_once = {(faults[c.fault].subjects, c.effect, c.case) for c in kept if _dies(c, faults)}
    return tuple(
        c
        for c in kept
        if faults[c.fault].state != DEAD_AND_FLAT
        or (faults[c.fault].subjects, c.effect, c.case) not in at_once
    )


def _dies(found: Consequence, faults: Mapping[str, Fault]) -> bool:
    return faults[found.fault].state == DEAD
