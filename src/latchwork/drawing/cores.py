"""What becomes of each core of a cable: used, spare, spoilt, or not there."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from latchwork.drawing.index import Index, Sort, ends
from latchwork.wiring import Conductor


@dataclass(slots=True)
class Cores:
    """A cable's cores by name, each in one list, in the cable's order. ``faulty``: spare, with a
    short, a leak or a break in it."""

    used: list[str] = field(default_factory=list)
    spare: list[str] = field(default_factory=list)
    faulty: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)


def cores(index: Index) -> dict[str, Cores]:
    """By cable: all its cores."""
    pieces: dict[tuple[str, str], list[Conductor]] = defaultdict(list)
    for piece in index.wiring.conductors:
        pieces[piece.cable, piece.core].append(piece)
    missing = {(wire.cable, wire.core) for wire in index.wiring.absent}
    found = {}
    for cable in index.plan.cables.values():
        mine = found[cable.id] = Cores()
        for core in cable.type.cores:
            key = (cable.id, core.name)
            if key in missing:
                mine.missing.append(core.name)
            elif any(_joins(index, piece, node) for piece in pieces[key] for node in ends(piece)):
                mine.used.append(core.name)
            elif any(_cut(index, node) for piece in pieces[key] for node in ends(piece)):
                mine.faulty.append(core.name)
            else:
                mine.spare.append(core.name)
    return found


def _joins(index: Index, piece: Conductor, node: str) -> bool:
    """Whether a core is joined to anything there: a tap may have been made in other cores only."""
    sort = index.owners[node].sort
    if sort is not Sort.TAP:
        return sort in (Sort.DEVICE, Sort.JOINT)
    core = (piece.cable, piece.core)
    return any(
        not isinstance(wire, Conductor) or (wire.cable, wire.core) != core
        for wire in index.at[node]
    )


def _cut(index: Index, node: str) -> bool:
    return index.owners[node].sort is Sort.CUT
