"""Ways for wires through the channel between the columns of devices.

A wire leaves its terminal level, runs upright on a track of its own, and reaches the other
terminal level. Two wires cross or not by the order of their tracks alone, so the tracks are put
into the order with the fewest crossings, the cores of one cable side by side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from latchwork.drawing.sheet import Hop, Point

PITCH = 8.0
"""From core to core within a cable, where there is room."""
TIGHT_PITCH = 6.0
GAP = 7.0
"""Besides, from cable to cable."""
TIGHT_GAP = 3.0
HOP = 3.0
"""Radius of a hop."""


@dataclass(frozen=True, slots=True)
class End:
    """Where a wire ends: the row, and whether its terminal is right of the channel."""

    y: float
    right: bool


@dataclass(frozen=True, slots=True)
class Net:
    """A wire to be routed; those of one ``bundle`` keep together."""

    a: End
    b: End
    bundle: str

    @property
    def top(self) -> float:
        """Its higher row."""
        return min(self.a.y, self.b.y)

    @property
    def bottom(self) -> float:
        """Its lower row."""
        return max(self.a.y, self.b.y)


@dataclass(frozen=True, slots=True)
class Routed:
    """The upright's x of every net, and the width the channel needs."""

    tracks: tuple[float, ...]
    width: float


def crossings(left: Net, right: Net) -> int:
    """How often two wires cross with the first one's upright left of the other's."""
    count = 0
    for end in (left.a, left.b):
        if end.right and right.top < end.y < right.bottom:
            count += 1
    for end in (right.a, right.b):
        if not end.right and left.top < end.y < left.bottom:
            count += 1
    return count


def ordered(nets: Sequence[Net]) -> list[list[int]]:
    """The bundles from left to right, each with its nets from left to right."""
    groups: dict[str, list[int]] = {}
    for number, net in enumerate(nets):
        groups.setdefault(net.bundle, []).append(number)
    cost = _costs(nets)
    bundles = [_sorted([[i] for i in group], cost) for group in groups.values()]
    return _sorted([[i for one in bundle for i in one] for bundle in bundles], cost)


def spread(order: Sequence[Sequence[int]], nets: Sequence[Net], room: float) -> Routed:
    """A track for every net, in ``room`` units or more if it takes more."""
    for pitch, gap in ((PITCH, GAP), (TIGHT_PITCH, TIGHT_GAP)):
        firsts, width = _pack(order, nets, pitch, gap, room)
        if width <= room:
            break
    tracks = [0.0] * len(nets)
    for group, first in zip(order, firsts, strict=True):
        for place, number in enumerate(group):
            tracks[number] = first + place * pitch
    return Routed(tuple(tracks), width)


def _costs(nets: Sequence[Net]) -> list[list[int]]:
    """cost[i][j]: what it costs more to have i left of j than j left of i."""
    size = len(nets)
    cost = [[0] * size for _ in range(size)]
    for i, one in enumerate(nets):
        for j in range(i + 1, size):
            other = nets[j]
            if one.top > other.bottom or other.top > one.bottom:
                continue
            difference = crossings(one, other) - crossings(other, one)
            cost[i][j], cost[j][i] = difference, -difference
    return cost


def _sorted(groups: list[list[int]], cost: Sequence[Sequence[int]]) -> list[list[int]]:
    """The groups in an order of few crossings: each moved to its best place until none gains."""
    between = [[sum(cost[i][j] for i in one for j in other) for other in groups] for one in groups]
    order = list(range(len(groups)))
    for _ in range(4):
        moved = False
        for group in list(order):
            at = order.index(group)
            rest = order[:at] + order[at + 1 :]
            now, best, best_at = 0, 0, 0
            here = 0
            for place, other in enumerate(rest, 1):
                # One place further right puts the other group left of this one.
                now += between[other][group]
                if place == at:
                    here = now
                if now < best:
                    best, best_at = now, place
            if best < here:
                order = [*rest[:best_at], group, *rest[best_at:]]
                moved = True
        if not moved:
            break
    return [groups[i] for i in order]


def _pack(
    order: Sequence[Sequence[int]], nets: Sequence[Net], pitch: float, gap: float, room: float
) -> tuple[list[float], float]:
    """The first track of every group, from left to right, and the width they take."""
    spans = [(min(nets[i].top for i in g), max(nets[i].bottom for i in g)) for g in order]
    wide = [(len(group) - 1) * pitch + pitch + gap for group in order]
    meet = [
        [k for k in range(n) if spans[k][0] <= spans[n][1] and spans[n][0] <= spans[k][1]]
        for n in range(len(order))
    ]
    earliest = _earliest(meet, wide)
    width = max((earliest[n] + wide[n] for n in range(len(order))), default=0.0) - gap
    latest = [max(width, room) + gap - wide[n] for n in range(len(order))]
    for n in range(len(order) - 1, -1, -1):
        for k in meet[n]:
            latest[k] = min(latest[k], latest[n] - wide[k])
    firsts: list[float] = []
    for n, group in enumerate(order):
        start = max((firsts[k] + wide[k] for k in meet[n]), default=0.0)
        firsts.append(max(start, _wish(group, nets, earliest[n], latest[n])))
    return firsts, width


def _earliest(meet: Sequence[Sequence[int]], wide: Sequence[float]) -> list[float]:
    found: list[float] = []
    for before in meet:
        found.append(max((found[k] + wide[k] for k in before), default=0.0))
    return found


def _wish(group: Sequence[int], nets: Sequence[Net], earliest: float, latest: float) -> float:
    """Wires between devices on one side stay near it, others keep to the middle."""
    rights = sum(net.right for i in group for net in (nets[i].a, nets[i].b))
    share = rights / (2 * len(group))
    return earliest + share * (latest - earliest)


def hops(
    points: Sequence[Point], uprights: Sequence[tuple[float, float, float]]
) -> tuple[Hop, ...]:
    """Where the level pieces of a route cross uprights (x, top, bottom): one hop for close ones."""
    found: list[Hop] = []
    for piece in range(len(points) - 1):
        (x0, y), (x1, y1) = points[piece], points[piece + 1]
        if y != y1:
            continue
        low, high = min(x0, x1), max(x0, x1)
        crossed = sorted(x for x, top, bottom in uprights if low < x < high and top < y < bottom)
        for x in crossed:
            if found and found[-1].piece == piece and x - HOP <= found[-1].to_x + 1.0:
                found[-1] = Hop(piece, found[-1].from_x, x + HOP)
            else:
                found.append(Hop(piece, x - HOP, x + HOP))
    return tuple(found)
