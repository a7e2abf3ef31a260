"""Where devices stand, unless the file says so itself."""

from __future__ import annotations

from latchwork.job.model import Door
from latchwork.parts.model import Part

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
    stands with the controller.
    """
    if written:
        return written
    if slot == "controller" and door.controller_at == "door" and _worked_at(door, part):
        return "outside"
    return _PLACES.get(slot) or ("inside" if door.controller_at == "door" else door.controller_at)


def _worked_at(door: Door, part: Part) -> bool:
    one_case = part.facts.get("own_credential") is True
    outdoors = part.facts.get("made_for") in ("outside", "weather")
    return one_case and outdoors and "reader" not in door.devices
