"""Symbols of IEC 60617, simplified, each drawn between two rows of a device's terminals.

From memory: contacts 07-02, coils 07-15, diode 05-03, fuse 07-21, battery 06-15, transformer 06-09.
``u`` is the distance inward from the device's edge; rows are heights on the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.drawing.sheet import Arc, Ink, Path, Point, Shape


@dataclass(frozen=True, slots=True)
class Inner:
    """The inside of a device: its edge with the terminals, and which way is inward (1 or -1)."""

    edge_x: float
    inward: int

    def at(self, u: float, y: float) -> Point:
        """The point ``u`` inward from the edge at height ``y``."""
        return (self.edge_x + self.inward * u, y)

    def line(self, *points: Point, ink: Ink = Ink.LINE) -> Path:
        """A line through points given as (u, y)."""
        return Path(tuple(self.at(u, y) for u, y in points), ink)

    def box(self, u: float, y: float, wide: float, high: float) -> Path:
        """A rectangle round (u, y)."""
        w, h = wide / 2, high / 2
        corners = ((u - w, y - h), (u + w, y - h), (u + w, y + h), (u - w, y + h))
        return Path(tuple(self.at(*c) for c in corners), Ink.LINE, closed=True)

    def ring(self, u: float, y: float, radius: float, *, filled: bool = False) -> Arc:
        """A circle round (u, y)."""
        return Arc(self.at(u, y), radius, filled=filled)

    def bow(self, u: float, y: float, radius: float) -> Arc:
        """A half circle that bulges inward."""
        start, end = (-90.0, 90.0) if self.inward > 0 else (90.0, 270.0)
        return Arc(self.at(u, y), radius, start, end)


def between(inner: Inner, u: float, top: float, bottom: float, high: float) -> tuple[Path, Path]:
    """The lines from two rows to a body of height ``high`` midway between them."""
    middle = (top + bottom) / 2
    return (
        inner.line((u, top), (u, middle - high / 2)),
        inner.line((u, middle + high / 2), (u, bottom)),
    )


def coil(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    """An operating coil: a flat box."""
    body = inner.box(u, (top + bottom) / 2, 14, 7)
    return (*between(inner, u, top, bottom, 7), body)


def motor(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    """A motor: a ring with an M."""
    y = (top + bottom) / 2
    letter = inner.line((u - 2.6, y + 2.4), (u - 2.6, y - 2.4), (u, y + 1), (u + 2.6, y - 2.4))
    last = inner.line((u + 2.6, y - 2.4), (u + 2.6, y + 2.4))
    return (*between(inner, u, top, bottom, 12), inner.ring(u, y, 6), letter, last)


def diode(inner: Inner, u: float, anode: float, cathode: float) -> tuple[Shape, ...]:
    """A diode: the triangle points from anode to cathode, the band stands at the cathode."""
    y, way = (anode + cathode) / 2, 1.0 if cathode > anode else -1.0
    triangle = Path(
        tuple(
            inner.at(*p)
            for p in ((u - 4.5, y - 4 * way), (u + 4.5, y - 4 * way), (u, y + 3.5 * way))
        ),
        Ink.LINE,
        closed=True,
        filled=True,
    )
    band = inner.line((u - 5, y + 3.5 * way), (u + 5, y + 3.5 * way), ink=Ink.HEAVY)
    return (inner.line((u, anode), (u, cathode)), triangle, band)


def varistor(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    """A voltage-dependent resistor: a box struck through."""
    y = (top + bottom) / 2
    strike = inner.line((u - 7, y + 6), (u - 4, y + 6), (u + 6, y - 6))
    return (*between(inner, u, top, bottom, 10), inner.box(u, y, 6, 10), strike)


def fuse(
    inner: Inner, u: float, top: float, bottom: float, *, resets: bool = False
) -> tuple[Shape, ...]:
    """A fuse: a box with the line through it; a self-resetting one is struck through as well."""
    y = (top + bottom) / 2
    shapes: tuple[Shape, ...] = (inner.line((u, top), (u, bottom)), inner.box(u, y, 6, 11))
    if resets:
        shapes += (inner.line((u - 7, y + 6), (u - 4, y + 6), (u + 6, y - 6)),)
    return shapes


def level_fuse(
    inner: Inner, u: float, to_u: float, y: float, *, resets: bool = False
) -> tuple[Shape, ...]:
    """A fuse lying on a row, from ``u`` to ``to_u``."""
    middle = (u + to_u) / 2
    shapes: tuple[Shape, ...] = (inner.line((u, y), (to_u, y)), inner.box(middle, y, 11, 6))
    if resets:
        shapes += (inner.line((middle - 6, y + 6), (middle - 3, y + 6), (middle + 5, y - 6)),)
    return shapes


def battery(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    """Two cells: the long thin plate is plus."""
    y = (top + bottom) / 2
    plates = []
    for at, half, ink in ((-4.5, 7, Ink.LINE), (-1.5, 3.5, Ink.HEAVY)):
        plates.append(inner.line((u - half, y + at), (u + half, y + at), ink=ink))
        plates.append(inner.line((u - half, y + at + 6), (u + half, y + at + 6), ink=ink))
    return (*between(inner, u, top, bottom, 9), *plates)


def rectifier(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    """A mains supply: a box cut across, alternating above, direct below."""
    y = (top + bottom) / 2
    wave = inner.line((u - 4.5, y - 2.5), (u - 3, y - 4.5), (u - 1, y - 1.5), (u + 0.5, y - 3.5))
    direct = inner.line((u + 0.5, y + 2.6), (u + 5, y + 2.6))
    dashes = inner.line((u + 0.5, y + 4.8), (u + 5, y + 4.8), ink=Ink.HAIR)
    cut = inner.line((u - 7, y + 7), (u + 7, y - 7), ink=Ink.HAIR)
    return (*between(inner, u, top, bottom, 14), inner.box(u, y, 14, 14), cut, wave, direct, dashes)


def transformer(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    """Two rings that meet: the secondary at the terminals, the primary inward."""
    y = (top + bottom) / 2
    return (
        inner.line((u, top), (u, y - 6)),
        inner.line((u, y + 6), (u, bottom)),
        inner.ring(u, y, 6),
        inner.ring(u + 8, y, 6),
        inner.line((u + 14, y), (u + 20, y)),
    )


def bell(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    """A bell: a half round on a flat face."""
    y = (top + bottom) / 2
    face = inner.line((u, y - 6), (u, y + 6))
    return (*between(inner, u, top, bottom, 12), face, inner.bow(u, y, 6))


def make(inner: Inner, u: float, top: float, bottom: float) -> tuple[tuple[Shape, ...], Path, Path]:
    """A contact open at rest: what stands still, its blade at rest, its blade moved."""
    still = (inner.line((u, top), (u, top + 4)), inner.line((u, bottom), (u, bottom - 4)))
    hinge = (u, bottom - 4)
    return still, inner.line(hinge, (u + 7, top + 3)), inner.line(hinge, (u, top + 4))


def rest_closed(
    inner: Inner, u: float, top: float, bottom: float
) -> tuple[tuple[Shape, ...], Path, Path]:
    """A contact closed at rest: the blade lies on a hook; moved, it has left it."""
    hook = inner.line((u, top), (u, top + 4), (u + 5, top + 4))
    still = (hook, inner.line((u, bottom), (u, bottom - 4)))
    hinge = (u, bottom - 4)
    return still, inner.line(hinge, (u + 5.5, top + 2.5)), inner.line(hinge, (u + 11, top + 6))


def changeover(
    inner: Inner, u: float, com: float, no: float, nc: float
) -> tuple[tuple[Shape, ...], Path, Path]:
    """A changeover: the blade from the common lies on NC at rest, on NO when moved."""
    pivot = (u + 18, (no + nc) / 2)
    way = 1.0 if nc > no else -1.0
    still = (
        inner.line((u, com), (pivot[0], com), pivot),
        inner.line((u, no), (u, no + 4 * way)),
        inner.line((u, nc), (u, nc - 4 * way)),
        inner.ring(*pivot, 1.4, filled=True),
    )
    return still, inner.line(pivot, (u - 2, nc - 4 * way)), inner.line(pivot, (u - 2, no + 4 * way))
