"""Where blocks go: strips for places, devices left and right of the wires, rows for every wire.

All rows lie on a grid; those of the right column lie half a step lower, so that a wire from the
left never lies on one from the right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from latchwork.drawing.sheet import Form

STEP = 16.0
"""Height of a row."""
ZONE_STEPS = 2
"""Rows a place's name takes, with the space before it."""
PLACES = ("outside", "door", "inside", "between", "supply")
"""The known places from the unsecure side to the supply; others stand between."""


@dataclass(slots=True)
class Spec:
    """A block to be placed. ``pins``: node -> how many wires end there, in order."""

    id: str
    place: str
    pins: Mapping[str, int]
    lines: int = 1
    """Lines of text above the terminals, the title among them."""
    empty: frozenset[str] = frozenset()
    """Nodes at which nothing ends but what is not there."""
    least: int = 0
    """Steps it takes at least."""
    beside: str = ""
    """The block it must stand beside, on the same side."""
    right: bool = False
    top: float = 0.0
    rows: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Pin -> first and last row, once placed."""

    def offsets(self) -> dict[str, tuple[int, int]]:
        """Pin -> first and last row, counted in steps from the block's top."""
        found = {}
        at = self.lines
        for pin, wires in self.pins.items():
            found[pin] = (at, at + max(wires, 1) - 1)
            at += max(wires, 1)
        return found

    @property
    def steps(self) -> int:
        """Height in steps, with the gap below; where there is no terminal, one below the texts."""
        rows = sum(max(w, 1) for w in self.pins.values()) or 1
        return max(self.lines + rows, self.least) + 1


@dataclass(frozen=True, slots=True)
class Strip:
    """A place's strip of the sheet."""

    place: str
    top: float
    bottom: float


Link = tuple[str, str]
"""The two nodes a wire joins."""


def place(
    specs: Sequence[Spec], links: Sequence[Link], form: Form, top: float, *, arranged: bool = False
) -> list[Strip]:
    """Give every block its side and its top; the strips of the places there are.

    ``arranged``: sides and order are as they should be already.
    """
    if not specs:
        return []
    owner = {node: spec for spec in specs for node in spec.pins}
    if form is Form.WIDE and not arranged:
        _sides(specs, links, owner)
    strips = _strips(specs)
    columns = [
        [[s for s in strip if s.right is right] for right in (False, True)] for strip in strips
    ]
    if not arranged:
        _order(columns, links, owner)
    placed = []
    for strip, sides in zip(strips, columns, strict=True):
        bottom = _stack(sides, links, owner, top + (ZONE_STEPS * STEP if strip[0].place else 0.0))
        placed.append(Strip(strip[0].place, top, bottom))
        top = bottom
    return placed


def _rank(place_name: str) -> tuple[float, str]:
    """Known places in their order, others by name just before the supply."""
    if place_name in PLACES:
        return (PLACES.index(place_name), "")
    return (PLACES.index("supply") - 0.5, place_name)


def _strips(specs: Iterable[Spec]) -> list[list[Spec]]:
    by_place: dict[str, list[Spec]] = {}
    for spec in specs:
        by_place.setdefault(spec.place, []).append(spec)
    return [by_place[name] for name in sorted(by_place, key=_rank)]


def _sides(specs: Sequence[Spec], links: Sequence[Link], owner: Mapping[str, Spec]) -> None:
    """The block with most wires goes right; the others left, or right where that saves height."""
    hub = max(specs, key=lambda s: (sum(s.pins.values()), s.id))
    beside: dict[str, list[Spec]] = {}
    for a, b in links:
        if owner[a] is not owner[b]:
            beside.setdefault(owner[a].id, []).append(owner[b])
            beside.setdefault(owner[b].id, []).append(owner[a])
    hub.right = True
    for strip in _strips(specs):
        here = {spec.id: spec for spec in strip}
        tied = [s for s in strip if s.beside in here]
        free = [s for s in strip if s is not hub and s.beside not in here]
        weight = {s.id: s.steps + sum(t.steps for t in tied if t.beside == s.id) for s in free}
        start = hub.steps if hub in strip else 0
        choices = product((False, True), repeat=min(len(free), 6))
        best = min(choices, key=lambda c: _cost(free, c, start, weight, beside))
        for spec, right in zip(free, best, strict=False):
            spec.right = right
        for spec in tied:
            spec.right = here[spec.beside].right


def _cost(
    free: Sequence[Spec],
    choice: Sequence[bool],
    start: int,
    weight: Mapping[str, int],
    beside: Mapping[str, list[Spec]],
) -> float:
    """Height of the strip, and a little for every block that is put beside what it is wired to."""
    side = {s.id: right for s, right in zip(free, choice, strict=False)}
    heights = [0, start]
    for spec in free:
        heights[side.get(spec.id, False)] += weight[spec.id]
    same = sum(
        0.6
        for spec in free
        for other in beside.get(spec.id, ())
        if side.get(spec.id, False) is side.get(other.id, other.right)
    )
    return max(heights) + same + 0.1 * sum(choice)


def _order(
    columns: list[list[list[Spec]]], links: Sequence[Link], owner: Mapping[str, Spec]
) -> None:
    """Swap neighbours within a place while that shortens the wires."""
    offsets = {s.id: s.offsets() for strip in columns for side in strip for s in side}
    ends = [
        (owner[a], offsets[owner[a].id][a][0], owner[b], offsets[owner[b].id][b][0])
        for a, b in links
    ]

    def length() -> float:
        tops: dict[str, int] = {}
        top = 0
        for strip in columns:
            heights = [0]
            for side in strip:
                at = top
                for spec in side:
                    tops[spec.id] = at
                    at += spec.steps
                heights.append(at - top)
            top += ZONE_STEPS + max(heights)
        return sum(abs(tops[a.id] + i - tops[b.id] - j) for a, i, b, j in ends)

    best = length()
    for _ in range(3):
        before = best
        for strip in columns:
            for side in strip:
                for i in range(len(side) - 1):
                    side[i], side[i + 1] = side[i + 1], side[i]
                    now = length()
                    if now < best:
                        best = now
                    else:
                        side[i], side[i + 1] = side[i + 1], side[i]
        if best == before:
            return


def _stack(
    sides: list[list[Spec]], links: Sequence[Link], owner: Mapping[str, Spec], top: float
) -> float:
    """Place the blocks of a strip below each other; the shorter side moves towards its partners."""
    heights = [sum(s.steps for s in side) for side in sides]
    longer = 0 if heights[0] >= heights[1] else 1
    _pile(sides[longer], top, {})
    wanted = _wishes(sides[1 - longer], links, owner, {s.id for s in sides[longer]})
    _pile(sides[1 - longer], top, wanted, heights[longer])
    return top + max(heights) * STEP


def _wishes(
    side: Sequence[Spec], links: Sequence[Link], owner: Mapping[str, Spec], placed: set[str]
) -> dict[str, float]:
    """The top at which a block would face what it is wired to across the strip."""
    pulls: dict[str, list[float]] = {}
    here = {spec.id: spec.offsets() for spec in side}
    for pair in links:
        for near, far in (pair, pair[::-1]):
            spec, other = owner[near], owner[far]
            if spec.id in here and other.id in placed:
                row = other.rows[far][0]
                pulls.setdefault(spec.id, []).append(row - here[spec.id][near][0] * STEP)
    return {name: sum(pull) / len(pull) for name, pull in pulls.items()}


def _pile(
    side: Sequence[Spec], top: float, wanted: Mapping[str, float], room_steps: int = 0
) -> None:
    below = sum(s.steps for s in side)
    limit = top + max(room_steps - below, 0) * STEP
    at = top
    for spec in side:
        wish = wanted.get(spec.id, at)
        steps = round((min(wish, limit) - top) / STEP)
        at = max(at, top + steps * STEP)
        spec.top = at + (STEP / 2 if spec.right else 0.0)
        spec.rows = {
            pin: (spec.top + (first + 0.5) * STEP, spec.top + (last + 0.5) * STEP)
            for pin, (first, last) in spec.offsets().items()
        }
        at += spec.steps * STEP
        limit += spec.steps * STEP
