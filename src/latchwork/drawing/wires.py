"""From wires with their texts to routes: rows at the terminals, tracks, hops, labels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from latchwork.drawing.blocks import Column
from latchwork.drawing.place import STEP, Spec
from latchwork.drawing.route import End, Net, Routed, hops, ordered, spread
from latchwork.drawing.sheet import Anchor, Label, Point, Role, Wire, WireKind
from latchwork.drawing.tags import Tagged, Texts
from latchwork.drawing.text import SIZES, label, strong_width, width
from latchwork.drawing.texts import say

TAG_PAD = 11.0
"""Room beside the text at a wire's end."""
EDGE = 10.0
"""Between the texts at the terminals and the first upright."""

Order = list[list[int]]


def nets_of(tagged: Sequence[Tagged], by_pin: Mapping[str, Spec]) -> list[Net]:
    """What is to be routed, with a row for each end."""
    return [
        Net(
            End(a, by_pin[wire.start].right),
            End(b, by_pin[wire.end].right),
            wire.cable
            if wire.kind is WireKind.CORE
            else " ".join(sorted((by_pin[wire.start].id, by_pin[wire.end].id))),
        )
        for wire, (a, b) in zip(tagged, _rows(tagged, by_pin), strict=True)
    ]


def _rows(tagged: Sequence[Tagged], by_pin: Mapping[str, Spec]) -> list[tuple[float, float]]:
    """The row of each end of each wire: a terminal with several has a row for each.

    They are dealt so that wires of one terminal do not cross: first those that go up on the same
    side, nearest first; then those across, from the top; then those down, farthest first.
    """
    at: dict[str, list[tuple[tuple[int, float], int, int]]] = {}
    for number, wire in enumerate(tagged):
        for side, (near, far) in enumerate(((wire.start, wire.end), (wire.end, wire.start))):
            here, there = by_pin[near], by_pin[far]
            y, far_y = here.rows[near][0], there.rows[far][0]
            across = here.right is not there.right
            key = (1, far_y) if across else (0 if far_y < y else 2, -far_y)
            at.setdefault(near, []).append((key, number, side))
    rows = [[0.0, 0.0] for _ in tagged]
    for node, wires in at.items():
        first = by_pin[node].rows[node][0]
        for place_on, (_, number, side) in enumerate(sorted(wires)):
            rows[number][side] = first + place_on * STEP
    return [(a, b) for a, b in rows]


def tag_widths(tagged: Sequence[Tagged], nets: Sequence[Net]) -> tuple[float, float]:
    """How wide the texts beside the left and right terminals are."""
    wide = [0.0, 0.0]
    for wire, net in zip(tagged, nets, strict=True):
        for end, texts in _at_ends(wire, net):
            wide[end.right] = max(wide[end.right], _wide(texts[0], wire) + TAG_PAD)
    return wide[0], wide[1]


def plan_tracks(nets: Sequence[Net]) -> tuple[Order, float]:
    """The order of the uprights, and the width they like to have."""
    order = ordered(nets)
    return order, spread(order, nets, 0.0).width


def wires_of(
    tagged: Sequence[Tagged],
    nets: Sequence[Net],
    routed: Routed,
    tracks_x: float,
    columns: tuple[Column, Column],
) -> list[Wire]:
    """The wires with their routes, hops and labels."""
    paths: list[tuple[Point, ...]] = []
    uprights: list[tuple[float, float, float]] = []
    for net, track in zip(nets, routed.tracks, strict=True):
        x = tracks_x + track
        a_x, b_x = columns[net.a.right].pin_x, columns[net.b.right].pin_x
        paths.append(((a_x, net.a.y), (x, net.a.y), (x, net.b.y), (b_x, net.b.y)))
        uprights.append((x, net.top, net.bottom))
    levels = _levels(tagged, nets, columns)
    return [
        Wire(
            wire.id,
            wire.kind,
            wire.start,
            wire.end,
            wire.cable,
            wire.core,
            wire.letters,
            wire.colours,
            path,
            hops(path, uprights),
            _labels(wire, net, columns, levels),
            wire.means,
            wire.planned,
            wire.absent,
        )
        for wire, net, path in zip(tagged, nets, paths, strict=True)
    ]


def _at_ends(wire: Tagged, net: Net) -> Iterator[tuple[End, Texts]]:
    """The texts of either end. The second, a core's length, stands on the right or lower down;
    those of a lead say where it goes and stay where they are."""
    swap = (net.a.right, net.a.y) > (net.b.right, net.b.y) and wire.kind is not WireKind.LEAD
    yield net.a, wire.texts[1 if swap else 0]
    yield net.b, wire.texts[0 if swap else 1]


def _levels(
    tagged: Sequence[Tagged], nets: Sequence[Net], columns: tuple[Column, Column]
) -> dict[tuple[bool, WireKind], int]:
    """How short the texts of one kind in one column have to be: the same for all of them."""
    levels: dict[tuple[bool, WireKind], int] = {}
    for wire, net in zip(tagged, nets, strict=True):
        for end, texts in _at_ends(wire, net):
            room = columns[end.right].tags - TAG_PAD + 5
            key = (end.right, wire.kind)
            level = levels.setdefault(key, 0)
            while level + 1 < len(texts) and _wide(texts[level], wire) > room:
                level += 1
            levels[key] = level
    return levels


def _wide(text: str, wire: Tagged) -> float:
    size = SIZES[Role.CORE]
    letters = strong_width(wire.letters, size)
    mark = width(say("tag.changed"), size, mono=True) if _marked(wire) else 0.0
    return letters + width(text, size, mono=True) + mark


def _marked(wire: Tagged) -> bool:
    return not wire.planned and wire.kind is not WireKind.BRIDGE


def _labels(
    wire: Tagged,
    net: Net,
    columns: tuple[Column, Column],
    levels: Mapping[tuple[bool, WireKind], int],
) -> tuple[Label, ...]:
    """A text above each end of the wire, its letters next to the terminal."""
    found = []
    for end, texts in _at_ends(wire, net):
        column = columns[end.right]
        text = texts[min(levels[end.right, wire.kind], len(texts) - 1)]
        # A device's name is told by half of it; the terminal of its own that a lead goes to is not.
        terminal = text[text.rfind(" ") :] if wire.kind is WireKind.LEAD and " " in text else ""
        mark = say("tag.changed") if _marked(wire) else ""
        found.append(
            label(
                text + mark,
                (column.pin_x + (-5 if end.right else 5), end.y - 3.2),
                Role.CORE,
                column.tags - TAG_PAD + 5,
                anchor=Anchor.END if end.right else Anchor.START,
                strong=wire.letters,
                end=terminal + mark,
            )
        )
    return tuple(found)
