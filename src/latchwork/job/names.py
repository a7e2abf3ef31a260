"""The fixed names of a job file: what a door can have fitted, and what its cables serve."""

from __future__ import annotations

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
