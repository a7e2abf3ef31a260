"""A door as one sees it from outside: frame, leaves, hinges, lever or bar, lock, unit.

Schematic, 56 by 84 units: not to the scale of any opening. The dashed lines of a leaf meet at its
hinges, as in building drawings (common practice).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from latchwork.drawing.index import Index
from latchwork.drawing.sheet import Arc, Ink, Path, Point, Shape
from latchwork.job import Door, OutBy

WIDE, HIGH = 56.0, 84.0
_FRAME = 3.0
_LEVER_Y = 46.0
"""Height of the lever below the top."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """What the elevation needs of a device: its kind, and whether it is worked from outside."""

    kind: str
    outside: bool


def fitted(index: Index, door_id: str) -> Mapping[str, Fitted]:
    """A door's devices by slot. A controller with keys or a card face of its own has that outside,
    even where its works stand inside."""
    found = {}
    for slot, name in index.plan.doors[door_id].devices.items():
        device = index.plan.devices[name]
        facts = device.part.facts
        face = facts.get("own_credential") is True and facts.get("face_place") != "inside"
        outside = device.place == "outside" or (device.part.kind == "controller" and face)
        found[slot] = Fitted(device.part.kind, outside)
    return found


@dataclass(frozen=True, slots=True)
class _Opening:
    """Where the frame stands on the sheet, and a leaf in it."""

    left: float
    top: float
    leaf_left: float
    leaf_right: float
    hinge_left: bool

    def rect(self, x: float, y: float, wide: float, high: float, *, filled: bool = False) -> Path:
        x, y = self.left + x, self.top + y
        corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
        return Path(corners, Ink.LINE, closed=True, filled=filled)

    def line(self, *points: Point, ink: Ink = Ink.LINE) -> Path:
        return Path(tuple((self.left + x, self.top + y) for x, y in points), ink)

    @property
    def latch_x(self) -> float:
        """The leaf's closing edge."""
        return self.leaf_right if self.hinge_left else self.leaf_left

    @property
    def to_hinge(self) -> int:
        """The way from the closing edge to the hinges: 1 is right."""
        return -1 if self.hinge_left else 1


def elevation(
    door: Door, devices: Mapping[str, Fitted], left: float, top: float
) -> tuple[Shape, ...]:
    """The shapes of a door whose devices are given by slot, with its left top corner there."""
    locks = [devices[slot].kind for slot in ("lock", "second lock") if slot in devices]
    apart = door.leaf_each(locks)
    openings = _openings(door, left, top, two=apart or door.facts.get("leaves") == 2)
    opening = openings[0]
    shapes: list[Shape] = [
        opening.line((0, HIGH), (0, 0), (WIDE, 0), (WIDE, HIGH), ink=Ink.HEAVY),
        opening.line((-5, HIGH), (WIDE + 5, HIGH)),
    ]
    for each in openings:
        shapes += _leaf(each)
    shapes += _furniture(door, opening)
    if "lock" in devices:
        shapes += _lock(devices["lock"].kind, opening, second=False)
    if "second lock" in devices:
        kind = devices["second lock"].kind
        shapes += _lock(kind, openings[-1] if apart else opening, second=not apart)
    outside = [device for device in devices.values() if device.outside]
    shapes += _units(outside, opening)
    return tuple(shapes)


def _openings(door: Door, left: float, top: float, *, two: bool) -> tuple[_Opening, ...]:
    """The active leaf, and the other one where there are ``two``."""
    inner_left, inner_right = _FRAME, WIDE - _FRAME
    if two:
        middle = WIDE / 2
        pair = (
            _Opening(left, top, inner_left, middle, hinge_left=True),
            _Opening(left, top, middle, inner_right, hinge_left=False),
        )
        return pair if door.facts.get("active leaf") == "left" else pair[::-1]
    hinge_left = door.facts.get("hand", "left") == "left"
    return (_Opening(left, top, inner_left, inner_right, hinge_left),)


def _leaf(opening: _Opening) -> tuple[Shape, ...]:
    """A leaf, the dashed lines to its hinges, two hinges."""
    leaf_left, leaf_right, latch_x = opening.leaf_left, opening.leaf_right, opening.latch_x
    hinge_x = leaf_left if opening.hinge_left else leaf_right
    middle = (_FRAME + HIGH) / 2
    return (
        opening.rect(leaf_left, _FRAME, leaf_right - leaf_left, HIGH - _FRAME),
        opening.line((latch_x, _FRAME), (hinge_x, middle), (latch_x, HIGH), ink=Ink.DASHED),
        *(opening.line((hinge_x, y), (hinge_x, y + 6), ink=Ink.HEAVY) for y in (13.0, 69.0)),
    )


def _furniture(door: Door, opening: _Opening) -> tuple[Shape, ...]:
    """The lever, or the panic bar as it lies behind the leaf."""
    x, way = opening.latch_x, opening.to_hinge
    if door.out_by is OutBy.PANIC_BAR:
        across = opening.leaf_right - opening.leaf_left - 8
        start = opening.leaf_left + 4
        return (
            opening.line((start, _LEVER_Y), (start + across, _LEVER_Y), ink=Ink.HEAVY),
            opening.line((start, _LEVER_Y + 3), (start + across, _LEVER_Y + 3)),
        )
    if door.out_by is OutBy.LEVER:
        rose = (opening.left + x + 5 * way, opening.top + _LEVER_Y)
        grip = opening.line((x + 5 * way, _LEVER_Y), (x + 14 * way, _LEVER_Y), ink=Ink.HEAVY)
        return (Arc(rose, 1.8, filled=True), grip)
    plate = opening.rect(x + (3 if way > 0 else -6), _LEVER_Y - 6, 3, 12)
    return (plate,)


def _lock(kind: str, opening: _Opening, *, second: bool) -> tuple[Shape, ...]:
    """The lock where it sits: strike in the frame, magnet at the head, bolt at the top edge."""
    x, way = opening.latch_x, opening.to_hinge
    down = 12.0 if second else 0.0
    if kind == "magnet":
        start = x + (1 if way > 0 else -17)
        return (opening.rect(start, _FRAME + down, 16, 4, filled=True),)
    if kind == "bolt":
        start = x + (6 if way > 0 else -10)
        return (
            opening.rect(start, 0, 4, _FRAME, filled=True),
            opening.line((start + 2, 0), (start + 2, 9), ink=Ink.HEAVY),
        )
    if kind == "motor":
        start = x + (0 if way > 0 else -6)
        return (opening.rect(start, _LEVER_Y - 4 + down, 6, 10, filled=True),)
    start = x - 3 if way > 0 else x
    return (opening.rect(start, _LEVER_Y - 5 + down, 3, 10, filled=True),)


def _units(outside: list[Fitted], opening: _Opening) -> tuple[Shape, ...]:
    """Units on the wall beside the closing edge; a keypad shows its keys."""
    x = WIDE + 4 if opening.to_hinge < 0 else -12
    shapes: list[Shape] = []
    for number, unit in enumerate(outside[:3]):
        y = _LEVER_Y - 8 + 16 * number
        shapes.append(opening.rect(x, y, 8, 12))
        if unit.kind == "controller":
            shapes += [
                Arc(
                    (opening.left + x + 2 + 2 * column, opening.top + y + 3 + 3 * row),
                    0.5,
                    filled=True,
                )
                for row in range(3)
                for column in range(3)
            ]
        elif unit.kind == "bell button":
            shapes.append(Arc((opening.left + x + 4, opening.top + y + 6), 2))
        else:
            shapes.append(opening.line((x + 2, y + 9), (x + 6, y + 9)))
    return tuple(shapes)
