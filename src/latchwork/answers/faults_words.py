"""Faults and their reasons in words."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.faults import Fault, FaultKind, Why
from latchwork.words import say

ALIKE_V = 0.005
"""Volts that differ by less are told in the same figures."""
NOTHING_V = 1e-6
"""Less is what rounding leaves."""


def fault_text(fault: Fault) -> str:
    """A fault in words."""
    told: dict[str, float | str] = {"subjects": " + ".join(fault.subjects), "state": fault.state}
    if fault.kind is FaultKind.JOINT and fault.ohm is not None:
        told["ohm_ohm"] = fault.ohm
    return say(f"faults.fault.{fault.kind}", told)


def why_text(why: Why) -> str:
    """What moved, what is without power, and what the lock then sees."""
    told: dict[str, float | str] = {
        "lock": why.lock,
        "sound_v": shown_v(why.sound_v),
        "faulty_v": shown_v(why.faulty_v),
        "sound": say(f"state.{why.sound_state}"),
        "faulty": say(f"state.{why.faulty_state}"),
    }
    rests = (say("faults.why.restless"),) if why.restless else ()
    return "; ".join((*_moved(why), *rests, say(f"faults.why.{_changed(why)}", told)))


def _changed(why: Why) -> str:
    if why.sound_state == why.faulty_state:
        return "same"
    return "alike" if abs(why.sound_v - why.faulty_v) < ALIKE_V else "other"


def _moved(why: Why) -> Iterator[str]:
    if why.lost:
        yield say("faults.why.lost", {"names": ", ".join(why.lost)})
    for word, closed in (("open", False), ("closed", True)):
        names = [name for name, now in why.moved if now is closed]
        if names:
            yield say(f"faults.why.{word}", {"names": ", ".join(names)})


def shown_v(volts: float) -> float:
    """Volts as they are told: what rounding leaves is nothing."""
    return volts if abs(volts) >= NOTHING_V else 0.0
