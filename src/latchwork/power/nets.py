"""Which nodes copper joins, whatever the current does: what a meter with the power off would find.

Coils, loads, diodes and sources do not join; conductors, leads, fuses and the tracks inside parts
do. Contacts join or not, as asked.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

from latchwork.behaviour import Group
from latchwork.elements import Contact, Fuse, Resistor, ResistorRole, Source
from latchwork.parts import moved_at_rest
from latchwork.plan import Plan
from latchwork.wiring.union import Union

LEAK_OHM = 100.0
"""Anything above is a leak, not a joint (common practice, no source)."""


class Contacts(StrEnum):
    """Which contacts count as closed."""

    NONE = "none"
    REST = "those closed in healthy idle"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Feed:
    """A source by its device and its two nodes."""

    device: str
    plus: str
    minus: str
    alternating: bool


class Nets:
    """The nodes of one group, joined."""

    def __init__(
        self,
        plan: Plan,
        group: Group,
        contacts: Contacts = Contacts.NONE,
        *,
        door: str = "",
        without: Collection[str] = (),
        moved: Collection[str] = (),
        fuses: bool = True,
    ) -> None:
        """``without``: devices whose contacts are open; ``moved``: relays that others keep up in
        healthy idle; ``door``: that door and shared things only; ``fuses``: whether they join, and
        so the feed a controller gives its reader."""
        self._union = Union()
        for wire in group.things.conductors:
            if wire.ohm.value <= LEAK_OHM and (not door or wire.door in (door, "")):
                self._union.join(wire.a, wire.b)
        for item in group.things.elements:
            if door and item.door not in (door, ""):
                continue
            match item.what:
                case Fuse():
                    joins = fuses
                case Resistor(name="reader feed"):
                    joins = fuses
                case Resistor(role=ResistorRole.INTERNAL | ResistorRole.JOINT):
                    joins = True
                case Resistor(role=ResistorRole.LEAK, ohm=ohm):
                    joins = ohm.value <= LEAK_OHM
                case Contact(at_rest=rest):
                    part = plan.devices[item.device].part
                    up = moved_at_rest(part) or item.device in moved
                    closed = (rest == "closed") is not up
                    joins = item.device not in without and (
                        contacts is Contacts.ALL or (contacts is Contacts.REST and closed)
                    )
                case _:
                    joins = False
            if joins:
                self._union.join(item.a, item.b)

    def joined(self, a: str, b: str) -> bool:
        """Whether copper joins two nodes."""
        return self._union.find(a) == self._union.find(b)


def feeds(group: Group) -> tuple[Feed, ...]:
    """The sources of a group; a battery counts as its supply's own."""
    return tuple(
        Feed(item.device, item.a, item.b, item.what.alternating)
        for item in group.things.elements
        if isinstance(item.what, Source)
    )
