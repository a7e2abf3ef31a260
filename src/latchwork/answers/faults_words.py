"""Faults and their reasons in words."""

from __future__ import annotations

import re
from collections.abc import Iterator

from latchwork.faults import Fault, FaultKind, Why
from latchwork.words import say

_BEYOND = re.compile(r"~(?= |$)")
"""The far side of a joint with a resistance of its own, as wiring calls it."""
ALIKE_V = 0.005
"""Volts that differ by less are told in the same figures."""
FUSE = "fuse"
"""In the names of fuses, "S1.fuse 1", and of no contact."""
MOST_NAMES = 4
"""So many names are told whole."""
NOTHING_V = 1e-6
"""Less is what rounding leaves."""


def fault_text(fault: Fault) -> str:
    """A fault in words."""
    subjects = _BEYOND.sub(f" {say('faults.beyond')}", " + ".join(fault.subjects))
    told: dict[str, float | str] = {"subjects": subjects, "state": fault.state}
    if fault.kind is FaultKind.JOINT and fault.ohm is not None:
        # A step that is tried, 1, 10 or 100 Ω, and no figure worked out.
        told["ohm"] = f"{fault.ohm:g} Ω"
    return say(f"faults.fault.{fault.kind}", told)


def why_text(why: Why) -> str:
    """What blew, what is without power, what moved, and what the lock then sees."""
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
    """A fuse before what it takes the power from, and that before the contacts it lets go of."""
    opened = [name for name, closed in why.moved if not closed]
    blown = [name for name in opened if FUSE in name.rpartition(".")[2]]
    found = (
        ("open", blown),
        ("lost", list(why.lost)),
        ("open", [name for name in opened if name not in blown]),
        ("closed", [name for name, closed in why.moved if closed]),
    )
    door = why.lock.partition(".")[0] + "."
    for word, names in found:
        if names:
            yield say(f"faults.why.{word}", {"names": _few(names, door)})


def _few(names: list[str], door: str) -> str:
    """``names``, those of the ``door`` first; of many the first: where one supply goes down, each
    of its doors has some."""
    if len(names) <= MOST_NAMES:
        return ", ".join(names)
    first = sorted(names, key=lambda name: not name.startswith(door))[: MOST_NAMES - 1]
    left = f"{len(names) - len(first)}"
    return f"{', '.join(first)} {say('faults.and more', {'count': left})}"


def shown_v(volts: float) -> float:
    """Volts as they are told: what rounding leaves is nothing."""
    return volts if abs(volts) >= NOTHING_V else 0.0
