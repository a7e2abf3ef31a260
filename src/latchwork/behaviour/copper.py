"""How much resistance lies between two nodes of a circuit along copper and contacts."""

from __future__ import annotations

from collections.abc import Iterator
from heapq import heappop, heappush

from latchwork.behaviour.network import Things
from latchwork.elements import joining_ohm

LEAST_OHM = 1e-6
"""What a wire of no length counts as."""


def ohms_from(things: Things, node: str) -> dict[str, float]:
    """The least resistance from a node to each that copper, contacts (closed) and fuses join to
    it, each at its most; cores side by side count together."""
    siemens: dict[str, dict[str, float]] = {}
    for a, b, ohm in _ways(things):
        for near, far in ((a, b), (b, a)):
            met = siemens.setdefault(near, {})
            met[far] = met.get(far, 0.0) + 1.0 / max(ohm, LEAST_OHM)
    found: dict[str, float] = {}
    reached = [(0.0, node)]
    while reached:
        ohm, here = heappop(reached)
        if here not in found:
            found[here] = ohm
            for far, share in siemens.get(here, {}).items():
                heappush(reached, (ohm + 1.0 / share, far))
    return found


def _ways(things: Things) -> Iterator[tuple[str, str, float]]:
    for wire in things.conductors:
        yield wire.a, wire.b, wire.ohm.high
    for item in things.elements:
        ohm = joining_ohm(item.what)
        if ohm is not None:
            yield item.a, item.b, ohm.high
