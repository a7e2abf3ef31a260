"""Path data of SVG for lines, arcs and wires with their hops."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from latchwork.drawing.route import HOP
from latchwork.drawing.sheet import Hop, Point


def number(value: float) -> str:
    """A coordinate, to a tenth of a unit."""
    return f"{value:.1f}".rstrip("0").rstrip(".") if value else "0"


def line_path(points: Sequence[Point], closed: bool) -> str:
    """Straight lines from point to point."""
    steps = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


def arc_path(centre: Point, radius: float, start: float, end: float) -> str:
    """A piece of a circle, or all of it in two halves."""
    if end - start >= 360:
        x, y = centre
        r = number(radius)
        return (
            f"M{number(x - radius)} {number(y)}A{r} {r} 0 1 1 {number(x + radius)} {number(y)}"
            f"A{r} {r} 0 1 1 {number(x - radius)} {number(y)}"
        )
    (x0, y0), (x1, y1) = (_on(centre, radius, angle) for angle in (start, end))
    large = 1 if end - start > 180 else 0
    return (
        f"M{number(x0)} {number(y0)}A{number(radius)} {number(radius)} 0 {large} 1 "
        f"{number(x1)} {number(y1)}"
    )


def _on(centre: Point, radius: float, degrees: float) -> Point:
    angle = math.radians(degrees)
    return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))


def wire_path(points: Sequence[Point], hops: Sequence[Hop]) -> str:
    """A wire's way; where it hops it rises over what it crosses."""
    steps = [f"M{number(points[0][0])} {number(points[0][1])}"]
    for piece in range(len(points) - 1):
        (x0, y0), (x1, y1) = points[piece], points[piece + 1]
        if y0 != y1:
            steps.append(f"V{number(y1)}")
            continue
        here = [hop for hop in hops if hop.piece == piece]
        for hop in here if x1 > x0 else reversed(here):
            steps.append(_hop(hop, y0, x1 > x0))
        steps.append(f"H{number(x1)}")
    return "".join(steps)


def _hop(hop: Hop, y: float, right: bool) -> str:
    """Up a quarter circle, over, and down a quarter circle."""
    near, far = (hop.from_x, hop.to_x) if right else (hop.to_x, hop.from_x)
    way, sweep = (HOP, 1) if right else (-HOP, 0)
    r, up = number(HOP), number(y - HOP)
    over = f"H{number(far - way)}" if hop.to_x - hop.from_x > 2 * HOP + 0.05 else ""
    return (
        f"H{number(near)}A{r} {r} 0 0 {sweep} {number(near + way)} {up}{over}"
        f"A{r} {r} 0 0 {sweep} {number(far)} {number(y)}"
    )


def ticks(points: Sequence[Point], backward: bool) -> str:
    """Small arrow heads along the way the current takes, in the middle of the longest piece."""
    pieces = list(pairwise(points))
    (x0, y0), (x1, y1) = max(pieces, key=lambda p: abs(p[0][0] - p[1][0]) + abs(p[0][1] - p[1][1]))
    if backward:
        (x0, y0), (x1, y1) = (x1, y1), (x0, y0)
    long = abs(x1 - x0) + abs(y1 - y0)
    if long < 12:
        return f"M{number(x0)} {number(y0)}"
    dx, dy = (x1 - x0) / long, (y1 - y0) / long
    heads = []
    for along in (-5.0, 0.0, 5.0) if long > 40 else (0.0,):
        x, y = (x0 + x1) / 2 + dx * along, (y0 + y1) / 2 + dy * along
        heads.append(
            f"M{number(x - 3 * dx - 3 * dy)} {number(y - 3 * dy + 3 * dx)}L{number(x)} {number(y)}"
            f"L{number(x - 3 * dx + 3 * dy)} {number(y - 3 * dy - 3 * dx)}"
        )
    return "".join(heads)
