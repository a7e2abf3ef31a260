"""What the client asked for, and a remedy leaves alone: devices that do something, interlocks,
a lock for each leaf, and who may be kept in."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour.passing import leaf_each
from latchwork.job.model import OutBy
from latchwork.job.names import EXIT_SLOTS
from latchwork.rules.leaving import kept_in
from latchwork.wiring import Wiring

MEANS = frozenset({"fire relay", "diode", "varistor", "relay", "delay module"})
"""Kinds that stand for how something is done, not for what was asked; whether a door does in a fire
what it has to, other findings tell."""


def gives_up(before: Wiring, after: Wiring) -> bool:
    """Whether a device has no wires any more that had some, a wire from door to door, such as an
    interlock's, ends elsewhere, two leaves have no longer a lock each, or a door where somebody may
    be kept in has a way out for all that it had not."""
    return lets_all_out(before, after) or not (
        _served(before) <= _served(after)
        and _across(before) <= _across(after)
        and _leaves(before) <= _leaves(after)
    )


def lets_all_out(before: Wiring, after: Wiring) -> bool:
    """Whether a door where somebody may be kept in has a way out for all that it had not."""
    return not _ways_out(before) >= _ways_out(after)


def _leaves(wiring: Wiring) -> set[str]:
    """The doors on which each lock holds a leaf: with locks of two kinds both count as holding
    all of the door, and what frees one leaf would count no more."""
    return {door for door in wiring.plan.doors if leaf_each(wiring.plan, door)}


def _ways_out(wiring: Wiring) -> set[tuple[str, str]]:
    """What lets out whoever comes, at doors where somebody may be kept in."""
    found = set()
    for name, door in wiring.plan.doors.items():
        if kept_in(door):
            slots = [slot for slot in EXIT_SLOTS if slot in door.devices]
            parts = [wiring.plan.devices[door.devices[slot]].part for slot in slots]
            found |= {(name, part.kind) for part in parts if part.kind != "key switch"}
            found |= {(name, door.door.out_by.value)} - {(name, OutBy.NOTHING.value)}
    return found


def _served(wiring: Wiring) -> set[str]:
    """The devices with wires."""
    plan = wiring.plan
    found = {end.rpartition(".")[0] for pair in _wires(wiring) for end in pair}
    return {
        device
        for device in found & plan.devices.keys() - plan.supplies.keys()
        if plan.devices[device].part.kind not in MEANS
    }


def _across(wiring: Wiring) -> set[frozenset[str]]:
    """The ends of wires between devices of two doors."""
    devices = wiring.plan.devices
    out = set()
    for pair in _wires(wiring):
        names = [end.rpartition(".")[0] for end in pair]
        doors = {devices[name].door for name in names if name in devices} - {""}
        if len(doors) > 1:
            out.add(frozenset(pair))
    return out


def _wires(wiring: Wiring) -> Iterator[tuple[str, str]]:
    for core in wiring.conductors:
        yield core.start, core.end
    for lead in wiring.leads:
        yield lead.start, lead.end
