"""Reads a drawing back from the SVG alone, as a person with a finger on the page would.

Only the standard's own path commands are understood: M H V L A. Nothing of the layout is used.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field

NS = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]
Box = tuple[float, float, float, float]
_STEP = re.compile(r"([MHVLAZ])([^MHVLAZ]*)")


@dataclass
class Line:
    """A wire as drawn: what it says of itself, and its corners with the hops left out."""

    data: dict[str, str]
    points: list[Point]
    arcs: int
    means: str


@dataclass
class Drawing:
    """What stands on a page."""

    size: Point
    terminals: dict[str, Box] = field(default_factory=dict)
    devices: dict[str, Box] = field(default_factory=dict)
    lines: list[Line] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    root: ET.Element | None = None

    def touched(self, point: Point) -> list[str]:
        """The terminals whose clamp a point lies on."""
        x, y = point
        return [
            name
            for name, (left, top, right, bottom) in self.terminals.items()
            if left <= x <= right and top <= y <= bottom
        ]


def read(text: str) -> Drawing:
    """Read a drawing."""
    root = ET.fromstring(text)
    _, _, wide, high = (float(v) for v in root.attrib["viewBox"].split())
    drawing = Drawing((wide, high), root=root)
    for group in root.iter(f"{NS}g"):
        rect = group.find(f"{NS}rect")
        if "data-terminal" in group.attrib and rect is not None:
            drawing.terminals[group.attrib["data-terminal"]] = _box(rect)
        elif "data-device" in group.attrib and rect is not None:
            drawing.devices[group.attrib["data-device"]] = _box(rect)
        elif "data-wire" in group.attrib:
            drawing.lines.append(_line(group))
    drawing.texts = ["".join(each.itertext()) for each in root.iter(f"{NS}text")]
    return drawing


def _box(rect: ET.Element) -> Box:
    x, y, w, h = (float(rect.attrib[name]) for name in ("x", "y", "width", "height"))
    return (x, y, x + w, y + h)


def _line(group: ET.Element) -> Line:
    data = {k.removeprefix("data-"): v for k, v in group.attrib.items() if k.startswith("data-")}
    ways = [path.attrib["d"] for path in group.findall(f"{NS}path")]
    points, arcs = walk(ways[0])
    title = group.find(f"{NS}title")
    assert title is not None
    return Line(data, points, arcs, title.text or "")


def walk(way: str) -> tuple[list[Point], int]:
    """The corners of a path; where it leaves its level by an arc and comes back, that is a hop."""
    x = y = 0.0
    points: list[Point] = []
    arcs = 0
    level: float | None = None
    for command, rest in _STEP.findall(way):
        numbers = [float(v) for v in rest.replace(",", " ").split()]
        match command:
            case "M" | "L":
                x, y = numbers
            case "H":
                (x,) = numbers
            case "V":
                (y,) = numbers
            case "A":
                level = points[-1][1] if level is None else level
                x, y = numbers[5:]
                arcs += 1
                if y == level:
                    level = None
                continue
            case "Z":
                continue
        if level is None:
            points.append((x, y))
    corners: list[Point] = []
    for point in points:
        if len(corners) > 1 and corners[-2][1] == corners[-1][1] == point[1]:
            corners[-1] = point
        elif not corners or corners[-1] != point:
            corners.append(point)
    return corners, arcs // 2
