"""Drawings as sheets: every door's wiring, and the site supply by supply."""

from __future__ import annotations

from typing import TYPE_CHECKING

from latchwork.answers.schedules.model import DoorRow
from latchwork.drawing.elevation import HIGH, WIDE, elevation, fitted
from latchwork.drawing.sheet import Form
from latchwork.drawing.sheet import Sheet as Drawing
from latchwork.papers.content.pictures import Picture, on_white
from latchwork.papers.content.source import Sheet, Source, door_title, words
from latchwork.papers.content.wired import Wired

if TYPE_CHECKING:
    from latchwork.papers.asked import Paper

PAGE_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height of a sheet, upright (ISO 216; ANSI/ASME Y14.1, size A)."""
MARGINS_MM = (31.0, 39.0)
"""What the margins take across and down, however the sheet is turned; the strip stands below."""
AROUND = 12.0
"""Room around an elevation, for units beside the frame."""
TURN = 1.2
"""A sheet is turned when the drawing gets this much larger by it."""


def door_drawings(wired: Wired, paper: Paper) -> list[Sheet]:
    """The wiring drawing of every door."""
    return [
        _sheet(
            wired.pictures.doors[name],
            words("sheet.wiring", {"door": door_title(planned.door)}),
            paper,
        )
        for name, planned in wired.index.plan.doors.items()
    ]


def site_drawings(wired: Wired, paper: Paper) -> list[Sheet]:
    """The site, some doors at a time where there are many."""
    found = []
    for some, picture in wired.pictures.site:
        title = words("sheet.site")
        if len(wired.pictures.site) > 1:
            title = words("sheet.site part", {"first": some[0], "last": some[-1]})
        found.append(_sheet(picture, title, paper))
    return found


def front_of(source: Source, row: DoorRow) -> dict[str, str]:
    """The door as one sees it from outside, with what that shows in words."""
    door = source.index.plan.doors[row.id].door
    shapes = elevation(door, fitted(source.index, row.id), AROUND, AROUND)
    wide, high = WIDE + 2 * AROUND, HIGH + 2 * AROUND
    alt = words("guide.picture", {"door": door_title(row), "lock": row.lock or words("dash")})
    drawn = Drawing(f"front-{row.id}", Form.NARROW, wide, high, alt, alt, shapes=shapes)
    return {"svg": on_white(drawn), "alt": alt}


def _sheet(drawn: Picture, title: str, paper: Paper) -> Sheet:
    across, down = PAGE_MM[paper.value]
    upright, turned = _room(across, down), _room(down, across)
    landscape = _scale(drawn, turned) > TURN * _scale(drawn, upright)
    wide, high = turned if landscape else upright
    return {
        "kind": "drawing",
        "title": title,
        "svg": drawn.svg,
        "alt": drawn.alt,
        "landscape": landscape,
        "as_wide": drawn.height / drawn.width <= high / wide,
        "width": drawn.width,
        "height": drawn.height,
        "labels": drawn.labels,
    }


def _room(across: float, down: float) -> tuple[float, float]:
    """Width and height between the margins."""
    return across - MARGINS_MM[0], down - MARGINS_MM[1]


def _scale(drawn: Picture, room: tuple[float, float]) -> float:
    return min(room[0] / drawn.width, room[1] / drawn.height)
