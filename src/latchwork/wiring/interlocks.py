"""Doors whose wires make another door's contact a condition of theirs."""

from __future__ import annotations

from collections.abc import Iterable

from latchwork.job.model import BEYOND_MODEL
from latchwork.plan import Plan
from latchwork.wiring.model import Conductor, Lead, Wiring

CONTACTS = ("door contact", "latch contact")
WATCHES = ("CONTACT", "GND")
"""Screws of a controller that watch a contact."""


def interlocked(plan: Plan, wires: Iterable[Conductor | Lead]) -> frozenset[str]:
    """Doors with a wire to the contact of another, but for what only watches it: an interlock,
    whatever is written."""
    found = set()
    for wire in wires:
        for end, other in ((wire.start, wire.end), (wire.end, wire.start)):
            contact = plan.devices.get(end.rpartition(".")[0])
            device, _, screw = other.rpartition(".")
            if contact is not None and contact.part.kind in CONTACTS and device in plan.devices:
                door = plan.devices[device].door
                if door not in ("", contact.door) and not screw.startswith(WATCHES):
                    found.add(door)
    return frozenset(found)


def beyond_model(wiring: Wiring, door: str) -> tuple[str, ...]:
    """What a door does that the model has no answer for, as written and by its wires."""
    written = wiring.plan.doors[door].door.beyond_model
    if door not in wiring.interlocked:
        return written
    return tuple(what for what in BEYOND_MODEL if what in written or what == "interlock")
