"""Whether a part can be what its slot says: by the terminals that wiring needs there, and by what
moves in it.

Terminals and flags and not kinds decide, so that a new kind of lock is a lock at once: what it must
have besides is something that moves a bolt, which a supply or a bell has not. A fuse has the two
screws of a button, and nobody can press it.
"""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.elements import Bolt, Contact, Input, Rule, Source, expr_flags
from latchwork.parts.model import Part

_SWITCH = (frozenset({"COM"}), frozenset({"COM1"}), frozenset({"1", "2"}))
_FED = frozenset({"+", "-"})
_LOCKS = ("lock", "second lock")

_NEEDS: dict[str, tuple[frozenset[str], ...]] = {
    "lock": (_FED, frozenset({"A1", "A2"})),
    "second lock": (_FED, frozenset({"A1", "A2"})),
    "controller": (frozenset({"+", "-", "COM", "EXIT", "GND"}),),
    "reader": (frozenset({"+", "-", "D0", "D1"}),),
    "timer": (frozenset({"+", "-", "IN", "GND", "COM"}),),
    "relay": (frozenset({"A1", "A2", "COM"}),),
    "radio": (frozenset({"+", "-", "COM"}),),
    "bell": (_FED,),
    "diode": (frozenset({"A", "K"}),),
    "varistor": (frozenset({"1", "2"}),),
    **dict.fromkeys(
        (
            "exit",
            "second exit",
            "release",
            "fire",
            "bar",
            "contact",
            "latch contact",
            "bell button",
            "key switch",
        ),
        _SWITCH,
    ),
}


_ASKS = frozenset({"pressed", "pushed", "triggered"})
_WATCHES = frozenset({"door:open", "door:latch_out"})
_MOVED_BY: dict[str, frozenset[str]] = {
    "exit": _ASKS,
    "second exit": _ASKS,
    "bar": frozenset({"pushed"}),
    "release": frozenset({"pulled"}),
    "fire": frozenset({"site:fire_alarm"}),
    "contact": _WATCHES,
    "latch contact": _WATCHES,
    "bell button": frozenset({"pressed"}),
    "key switch": frozenset({"pressed"}),
    "radio": frozenset({"radio_sent"}),
    "bell": frozenset({"sounds"}),
}
"""Flags of which a part for the slot reads or has one: what somebody or something does there."""
WANTED = {
    **dict.fromkeys(_LOCKS, "a strike, magnetic lock, solenoid bolt or motor lock"),
    "supply": "a supply, transformer or port",
    "controller": "a keypad or controller",
    "reader": "a reader",
    **dict.fromkeys(
        ("exit", "second exit"),
        "an exit button, exit sensor or key switch, or a bar or lever with a switch",
    ),
    "bar": "a panic bar or lever with a switch",
    "release": "an emergency release",
    "fire": "a fire relay",
    **dict.fromkeys(("contact", "latch contact"), "a door contact or latch contact"),
    "bell": "a bell or sounder",
    "bell button": "a bell button",
    "key switch": "a key switch",
    "radio": "a radio receiver",
    "timer": "a delay module",
    "relay": "a relay with a coil",
    "diode": "a diode",
    "varistor": "a varistor",
}
"""What fits a slot, in words."""


def misfit(slot: str, part: Part) -> str:
    """What a part for the slot would be, where this one is not; "" where it fits."""
    return "" if slot not in WANTED or _fits(slot, part) else WANTED[slot]


def _fits(slot: str, part: Part) -> bool:
    if slot == "supply":
        return any(isinstance(element, Source) for element in part.elements)
    if slot in _LOCKS and not any(isinstance(rule, Bolt) for rule in part.rules):
        return False
    if slot == "varistor" and part.elements:
        return False  # it conducts nothing that matters; a fuse or contact in its place does
    if slot == "key switch" and part.kind != slot:
        return False  # whoever presses a button has no right by that
    moved_by = _MOVED_BY.get(slot)
    if moved_by is not None and moved_by.isdisjoint(_flags(part)):
        return False
    names = {terminal.name for terminal in part.terminals}
    return any(need <= names for need in _NEEDS[slot])


def _flags(part: Part) -> Iterator[str]:
    """What can happen to a part from outside, and what its contacts and its relay follow."""
    for rule in part.rules:
        if isinstance(rule, Input | Rule):
            yield rule.flag
        if isinstance(rule, Rule):
            yield from expr_flags(rule.when)
    for element in part.elements:
        if isinstance(element, Contact):
            yield from expr_flags(element.closed)
