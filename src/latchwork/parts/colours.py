"""Core colours in order, by kind of cable (an own choice; common practice, no source)."""

from __future__ import annotations

POWER = (
    "brown",
    "blue",
    "black",
    "grey",
    "white",
    "red",
    "green",
    "yellow",
    "orange",
    "violet",
    "pink",
    "turquoise",
)
"""Flexible and stranded cores: brown first for plus, blue for minus."""

THIN = (
    "white",
    "brown",
    "green",
    "yellow",
    "grey",
    "pink",
    "blue",
    "red",
    "black",
    "violet",
    "grey-pink",
    "red-blue",
)
"""Thin signal cores, in the order of DIN 47100 (withdrawn and still in common use; from memory)."""

GAUGE = (
    "red",
    "black",
    "white",
    "green",
    "brown",
    "blue",
    "orange",
    "yellow",
    "violet",
    "grey",
    "pink",
    "tan",
)
"""Cores sized by wire gauge."""

PAIRS = ("blue", "orange", "green", "brown")
"""Category cable: each pair a colour, and white with that colour."""
