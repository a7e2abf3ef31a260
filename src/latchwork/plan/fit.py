"""Whether a part can be what its slot says: by the terminals that wiring needs there.

Terminals and not kinds decide, so that a new kind of lock is a lock at once: what it must have
besides is something that moves a bolt, which a supply or a bell has not.
"""

from __future__ import annotations

from latchwork.elements import Bolt, Source
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


def misfit(slot: str, part: Part) -> str:
    """What a part for the slot would have, where this one has not; "" where it fits."""
    if slot == "supply":
        gives = any(isinstance(element, Source) for element in part.elements)
        return "" if gives else "a supply, transformer or port"
    if slot in _LOCKS and not any(isinstance(rule, Bolt) for rule in part.rules):
        return "a strike, magnetic lock, solenoid bolt or motor lock"
    needs = _NEEDS.get(slot, ())
    names = {terminal.name for terminal in part.terminals}
    if not needs or any(need <= names for need in needs):
        return ""
    screws = " or ".join(" ".join(sorted(need)) for need in needs)
    return f"a part for {slot}, with terminals {screws}"
