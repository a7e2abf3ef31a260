"""Where devices stand, unless the file says so itself."""

from __future__ import annotations

from latchwork.job.model import Door
from latchwork.job.names import EXIT_SLOTS
from latchwork.parts.model import Part
from latchwork.plan.model import Plan

OUTSIDE = ("outside", "weather")
"""Places on the unsecure side."""

_PLACES = {
    "lock": "door",
    "second lock": "door",
    "bar": "door",
    "contact": "door",
    "latch contact": "door",
    "diode": "door",
    "varistor": "door",
    "reader": "outside",
    "bell button": "outside",
    "key switch": "outside",
    "exit": "inside",
    "second exit": "inside",
    "release": "inside",
    "bell": "inside",
}


def place_of(door: Door, slot: str, part: Part, written: str) -> str:
    """The place of a device in that slot of the door.

    ``written`` wins. A controller stands where the door says: on the secure side, unless it is one
    case for outdoors that people work at, with no reader beside it. What has no place of its own
    stands with the controller, but never outside: nobody puts a relay there unasked.
    """
    if written:
        return written
    if slot == "controller" and door.controller_at == "door" and _worked_at(door, part):
        return "outside"
    if slot == "controller":
        return "inside" if door.controller_at == "door" else door.controller_at
    inside = door.controller_at in ("door", *OUTSIDE)
    return _PLACES.get(slot) or ("inside" if inside else door.controller_at)


def out_of_reach(plan: Plan, door: str) -> tuple[str, ...]:
    """The slots of what asks to leave, and of the release, that those inside cannot get at, as it
    stands on the other side. None where people escape inward alone: they are on that side."""
    planned = plan.doors[door]
    if planned.door.facts.get("escape direction") == "inward":
        return ()
    fitted = {slot: planned.devices.get(slot, "") for slot in (*EXIT_SLOTS, "release")}
    return tuple(s for s, d in fitted.items() if d and plan.devices[d].place in OUTSIDE)


def _worked_at(door: Door, part: Part) -> bool:
    one_case = part.facts.get("own_credential") is True
    outdoors = part.facts.get("made_for") in ("outside", "weather")
    return one_case and outdoors and "reader" not in door.devices
