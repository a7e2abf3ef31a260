"""Faults of a door as people read of them: those that come about alike, or why there are none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from latchwork.answers.faults_model import DoorFaults, FaultLine
from latchwork.words import say

SEVERITY = {
    "traps": "danger",
    "blocks the exit": "danger",
    "shuts out who escapes inward": "danger",
    "stays locked in a fire": "danger",
    "stops the emergency release": "danger",
    "frees the latch in a fire": "danger",
    "opens": "insecure",
    "stops": "fails",
    "silent": "weak",
}
"""The mark of each effect, worst first."""
ONE_GROUP_V = 1.0
"""Volts that differ by less are told as one (common practice, no source)."""


def alike(faults: Sequence[FaultLine]) -> Iterator[list[FaultLine]]:
    """Faults that come about alike, their volts too, and do the same besides; what does its harm
    hours later stands apart from what does it at once."""
    found: dict[object, list[FaultLine]] = {}
    for fault in faults:
        key = (
            fault.situation,
            fault.moment,
            fault.case,
            fault.lock,
            fault.faulty_state,
            tuple(fault.moved.items()),
            fault.lost,
            fault.restless,
            fault.later,
            also(fault),
        )
        found.setdefault(key, []).append(fault)
    yield from sorted(
        (part for group in found.values() for part in _by_volts(group)), key=_most_harm
    )


def _by_volts(group: Sequence[FaultLine]) -> list[list[FaultLine]]:
    """A group apart where its volts are: what is told of the first is to hold for all."""
    out: list[list[FaultLine]] = []
    for fault in group:
        for part in out:
            if abs(part[0].faulty_v - fault.faulty_v) < ONE_GROUP_V:
                part.append(fault)
                break
        else:
            out.append([fault])
    return out


def untried(door: DoorFaults) -> str:
    """Why nothing was tried at a door; "" where something was."""
    if door.has_lock:
        return ""
    return say("faults.overview.missing" if door.missing else "faults.overview.no lock")


def missing(door: DoorFaults) -> str:
    """Which of its locks were found missing, in words; "" where none was."""
    if not door.missing:
        return ""
    key = "faults.missing" if door.has_lock else "faults.all missing"
    return say(key, {"locks": ", ".join(door.missing)})


def late(fault: FaultLine) -> bool:
    """Whether it shows past the relay time only, while somebody does something."""
    return fault.moment == "held" and not fault.situation.endswith("/nobody")


def also(fault: FaultLine) -> tuple[str, ...]:
    """What a fault does besides, worst first, but for what nobody notices."""
    return tuple(e for e in SEVERITY if e != "silent" and e in fault.also)


def _most_harm(group: Sequence[FaultLine]) -> tuple[int, int]:
    """Orders groups of one effect: those that do most of what is a danger first, then the one with
    the most faults."""
    dangers = sum(SEVERITY[effect] == "danger" for effect in also(group[0]))
    return -dangers, -len(group)
