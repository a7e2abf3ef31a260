"""Drawings as sheets: every door's wiring, and the site supply by supply."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from latchwork.answers.schedules import DoorRow
from latchwork.drawing import Form, door_sheet, site_sheet, svg
from latchwork.drawing import Sheet as Drawing
from latchwork.drawing.elevation import HIGH, WIDE, elevation, fitted
from latchwork.drawing.paint import PAPER as GROUND
from latchwork.drawing.sheet import Block, Label, Role, Wire
from latchwork.papers.content.source import Sheet, Source, door_title, words

if TYPE_CHECKING:
    from latchwork.papers.pack import Paper

ROOM_MM = {"A4": (179.0, 258.0), "Letter": (184.9, 240.0)}
"""Width and height between the margins, upright."""
SITE_DOORS = 12
"""Doors on one site drawing: more would be too small to read."""
AROUND = 12.0
"""Room around an elevation, for units beside the frame."""
_QUIET = {Role.IDENT, Role.PART, Role.NOTE, Role.ZONE}
_BOLD = {Role.SHEET, Role.DEVICE}
_PLAIN = frozenset("–—…·×Ω′″“”‘’−")
TURN = 1.2
"""A sheet is turned when the drawing gets this much larger by it."""


def door_drawings(source: Source, paper: Paper) -> list[Sheet]:
    """The wiring drawing of every door."""
    return [
        _sheet(
            door_sheet(source.index, row.id),
            words("sheet.wiring", {"door": door_title(row)}),
            paper,
        )
        for row in source.schedules.doors
    ]


def site_drawings(source: Source, paper: Paper) -> list[Sheet]:
    """The site, some doors at a time where there are many."""
    doors = [row.id for row in source.schedules.doors]
    found = []
    for start in range(0, len(doors), SITE_DOORS):
        some = doors[start : start + SITE_DOORS]
        title = words("sheet.site")
        if len(doors) > SITE_DOORS:
            title = words("sheet.site part", {"first": some[0], "last": some[-1]})
        found.append(_sheet(site_sheet(source.index, doors=some), title, paper))
    return found


def front_of(source: Source, row: DoorRow) -> dict[str, str]:
    """The door as one sees it from outside, with what that shows in words."""
    door = source.index.plan.doors[row.id].door
    shapes = elevation(door, fitted(source.index, row.id), AROUND, AROUND)
    wide, high = WIDE + 2 * AROUND, HIGH + 2 * AROUND
    alt = words("guide.picture", {"door": door_title(row), "lock": row.lock or words("dash")})
    drawn = Drawing(f"front-{row.id}", Form.NARROW, wide, high, alt, alt, shapes=shapes)
    return {"svg": svg(drawn, themed=False).replace(GROUND, "#ffffff"), "alt": alt}


def _sheet(drawn: Drawing, title: str, paper: Paper) -> Sheet:
    wide, high = ROOM_MM[paper.value]
    upright = min(wide / drawn.width, high / drawn.height)
    turned = min(high / drawn.width, wide / drawn.height)
    landscape = turned > TURN * upright
    room = high / wide if not landscape else wide / high
    plain, others = _apart(drawn)
    return {
        "kind": "drawing",
        "title": title,
        # Paper is white already; a tinted ground costs ink and greys a copy.
        "svg": svg(plain, themed=False).replace(GROUND, "#ffffff"),
        "alt": drawn.description,
        "landscape": landscape,
        "as_wide": drawn.height / drawn.width <= room,
        "width": drawn.width,
        "height": drawn.height,
        "labels": [_label(label) for label in others],
    }


def _apart(drawn: Drawing) -> tuple[Drawing, list[Label]]:
    """The drawing without the texts that need more than plain letters, and those texts.

    Drawings are set with one face after another only letter by letter; scripts that join or turn
    their letters, and pictures, are set over them as text.
    """
    others: list[Label] = []

    def kept(label: Label) -> Label:
        if _is_plain(label.text) and _is_plain(label.strong):
            return label
        others.append(label)
        return replace(label, text="", strong="", full="")

    def block(found: Block) -> Block:
        pins = tuple(replace(pin, label=kept(pin.label)) for pin in found.pins)
        return replace(found, pins=pins, labels=tuple(map(kept, found.labels)))

    def wire(found: Wire) -> Wire:
        return replace(found, labels=tuple(map(kept, found.labels)))

    plain = replace(
        drawn,
        zones=tuple(replace(zone, label=kept(zone.label)) for zone in drawn.zones),
        blocks=tuple(map(block, drawn.blocks)),
        wires=tuple(map(wire, drawn.wires)),
        labels=tuple(map(kept, drawn.labels)),
    )
    return (plain, others) if others else (drawn, others)


def _is_plain(text: str) -> bool:
    """Latin, Greek and Cyrillic without combining marks, and the signs that drawings use."""
    return text.isascii() or all(
        ord(c) < 0x300 or 0x370 <= ord(c) < 0x530 or c in _PLAIN for c in text
    )


def _label(label: Label) -> dict[str, object]:
    return {
        "text": label.text,
        "strong": label.strong,
        "x": label.at[0],
        "y": label.at[1],
        "size": label.size,
        "anchor": label.anchor.value,
        "mono": label.mono,
        "bold": label.role in _BOLD,
        "quiet": label.role in _QUIET,
    }
