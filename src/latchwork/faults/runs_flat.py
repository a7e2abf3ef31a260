"""Whether the battery of a supply that dies runs flat, mains on, before anybody comes."""

from __future__ import annotations

from latchwork.behaviour.network import Things
from latchwork.elements import FALSE, Fuse, Resistor, ResistorRole, Source, SourceShape
from latchwork.parts import Part
from latchwork.wiring.union import Union

KEEPS_OHM = 1.0
"""Of one wire between two supplies: above it, what flows may leave the one below its battery
(common practice, no source)."""


def runs_flat(things: Things, supply: str, part: Part) -> bool:
    """It does, unless the supply tells of its fault or another one keeps the battery up."""
    return part.facts.get("tells_of_its_fault") is not True and not _kept_up(things, supply, part)


def _kept_up(things: Things, supply: str, part: Part) -> bool:
    """Whether copper joins the plus to that of another supply that gives no less than a full
    battery has, and so feeds doors and battery. A meter at the screws reads that one's volts."""
    gives: dict[str, tuple[str, float]] = {}
    for item in things.elements:
        what = item.what
        if (
            isinstance(what, Source)
            and what.shape is not SourceShape.BREAKS_DOWN
            and not what.alternating
            and item.on != FALSE
        ):
            gives[item.device] = item.a, what.volt.value
    own, _ = gives.pop(supply, ("", 0.0))
    full_v = part.figures["battery_v"].value
    others = [plus for plus, volt in gives.values() if volt >= full_v]
    if not own or not others:
        return False
    copper = Union()
    for wire in things.conductors:
        if wire.ohm.value <= KEEPS_OHM:
            copper.join(wire.a, wire.b)
    for item in things.elements:
        if isinstance(item.what, Fuse) or (
            isinstance(item.what, Resistor) and item.what.role is ResistorRole.INTERNAL
        ):
            copper.join(item.a, item.b)
    return any(copper.find(plus) == copper.find(own) for plus in others)
