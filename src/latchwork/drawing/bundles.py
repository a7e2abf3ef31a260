"""Sheaths behind the cores of a cable where they run upright side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from latchwork.drawing.sheet import Jacket, Wire

LEAST = 14.0
"""A sheath shorter than this, or than twice its width, is not drawn."""
OUT = 4.0
"""How far a sheath reaches beyond its outer cores."""


def jackets(wires: Sequence[Wire]) -> Iterable[Jacket]:
    """A sheath for every cable, over the height where all its cores run side by side."""
    by_cable: dict[str, list[Wire]] = {}
    for wire in wires:
        if wire.cable:
            by_cable.setdefault(wire.cable, []).append(wire)
    for cable, cores in by_cable.items():
        spans = [sorted((core.points[1][1], core.points[2][1])) for core in cores]
        top, bottom = max(s[0] for s in spans), min(s[1] for s in spans)
        xs = [core.points[1][0] for core in cores]
        if bottom - top >= max(LEAST, 2 * (max(xs) - min(xs) + 2 * OUT)):
            yield Jacket(cable, (min(xs) - OUT, top + 3, max(xs) + OUT, bottom - 3))
