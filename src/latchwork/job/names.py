"""The fixed names of a job file: what a door can have fitted, and what its cables serve."""

from __future__ import annotations

import re

SLOTS = (
    "lock",
    "second lock",
    "controller",
    "reader",
    "exit",
    "second exit",
    "release",
    "fire",
    "bar",
    "contact",
    "latch contact",
    "bell",
    "bell button",
    "radio",
    "timer",
    "diode",
    "varistor",
    "relay",
    "key switch",
)
"""What a device does for its door."""

EXIT_SLOTS = ("exit", "second exit", "bar")
"""Those of what asks to leave, in the order it is tried."""

LEGS = (
    "power",
    "lock",
    "exit",
    "release",
    "fire",
    "contact",
    "tamper",
    "reader",
    "bell",
    "radio",
)
"""What a cable run serves."""


def counted(name: str) -> tuple[str | int, ...]:
    """Where an id stands among others, whatever their order in the file: D2 before D10. Words and
    numbers take turns."""
    return tuple(int(s) if n % 2 else s for n, s in enumerate(re.split("([0-9]+)", name)))
