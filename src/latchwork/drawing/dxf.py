"""A sheet as DXF, in millimetres, to be laid over a building's plan.

Layers: FRAME, DEVICES, TERMINALS, WIRES, SHEATHS, TEXT. A wire's entity carries what it joins as
extended data under the application's name.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import TYPE_CHECKING

from latchwork.drawing import paint
from latchwork.drawing.overlay import DEAD_A
from latchwork.drawing.route import HOP
from latchwork.drawing.sheet import (
    UNIT_MM,
    Anchor,
    Arc,
    Block,
    Ink,
    Label,
    Path,
    Point,
    Shape,
    Sheet,
    Wire,
    WireKind,
)

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

APPLICATION = "LATCHWORK"
LAYERS = ("FRAME", "DEVICES", "TERMINALS", "WIRES", "SHEATHS", "TEXT")
BULGE_QUARTER = 0.41421356237309503
"""tan(90°/4): a quarter circle between two points of a polyline."""
DASHES = {
    "ABSENT": paint.ABSENT_DASH,
    "BRIDGE": paint.BRIDGE_DASH,
    "FRAME": paint.FRAME_DASH,
    "SHAPE": paint.SHAPE_DASH,
}
"""Line types of the file's own, in the sheet's units: those of the library are in drawing units of
its own choice, and show as solid lines where their gaps are hundredths of a millimetre."""
_LONGEST = 250
"""Extended data holds 255 bytes in old readers; ids are ASCII or short."""


def dxf(sheet: Sheet) -> bytes:
    """The sheet as a DXF file (R2010), y upward, its left bottom corner at the origin."""
    import ezdxf

    options = ezdxf.options  # type: ignore[attr-defined]  # public, but not listed
    # The same sheet gives the same bytes: no time of writing, no random marks.
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = _document(sheet)
        stream = io.StringIO()
        document.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode("utf-8")


def _document(sheet: Sheet) -> Drawing:
    from ezdxf import units
    from ezdxf.filemanagement import new

    document = new("R2010")
    document.units = units.MM
    for name, (dash, gap) in DASHES.items():
        pattern = [UNIT_MM * length for length in (dash + gap, dash, -gap)]
        document.linetypes.add(name, pattern)
    document.appids.new(APPLICATION)
    for name in LAYERS:
        document.layers.add(name)
    pen = _Pen(document.modelspace(), sheet.height)
    for shape in sheet.shapes:
        pen.shape(shape, "FRAME")
    for jacket in sheet.jackets:
        left, top, right, bottom = jacket.box
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        pen.line(corners, "SHEATHS", paint.RULE, closed=True)
    for wire in sheet.wires:
        pen.wire(wire)
    for block in sheet.blocks:
        pen.block(block)
    for label in (*(zone.label for zone in sheet.zones), *sheet.labels):
        pen.text(label)
    return document


class _Pen:
    """Draws on a model space."""

    def __init__(self, space: Modelspace, height: float) -> None:
        self._space, self._height = space, height

    def _mm(self, point: Point) -> Point:
        return (point[0] * UNIT_MM, (self._height - point[1]) * UNIT_MM)

    def line(
        self,
        points: Iterable[Point],
        layer: str,
        colour: str = paint.INK,
        *,
        closed: bool = False,
        weight: float = 0.0,
        dashes: str = "",
    ) -> None:
        """A polyline."""
        self._space.add_lwpolyline(
            [self._mm(point) for point in points],
            close=closed,
            dxfattribs=_look(layer, colour, weight, dashes),
        )

    def shape(self, shape: Shape, layer: str) -> None:
        """A line, or a piece of a circle."""
        dashes = "SHAPE" if shape.ink is Ink.DASHED else ""
        weight = paint.WEIGHT[shape.ink] * UNIT_MM
        if isinstance(shape, Path):
            self.line(shape.points, layer, closed=shape.closed, weight=weight, dashes=dashes)
            return
        self._arc(shape, _look(layer, paint.INK, weight, dashes))

    def _arc(self, arc: Arc, look: dict[str, object]) -> None:
        radius = arc.radius * UNIT_MM
        if arc.end - arc.start >= 360:
            self._space.add_circle(self._mm(arc.centre), radius, dxfattribs=look)
            return
        # Angles turn the other way once y points upward.
        self._space.add_arc(
            self._mm(arc.centre), radius, -arc.end % 360, -arc.start % 360, dxfattribs=look
        )

    def wire(self, wire: Wire) -> None:
        """A wire as one polyline, its hops as bulges, what it joins as extended data."""
        weight = paint.wire_weight(wire, None, DEAD_A) * UNIT_MM
        dashes = "ABSENT" if wire.absent else "BRIDGE" if wire.kind is WireKind.BRIDGE else ""
        way = [(*self._mm(point), 0.0, 0.0, bulge) for point, bulge in _with_hops(wire)]
        cable = wire.kind is WireKind.CABLE
        if cable:
            weight = (paint.SHEATH_WEIGHT + paint.CASING) * UNIT_MM
        entity = self._space.add_lwpolyline(
            way, dxfattribs=_look("WIRES", _visible(wire), weight, dashes)
        )
        if cable:
            # A double line, as the sheet says of it: a lighter one upon it.
            look = _look("SHEATHS", paint.SHEATH, 0.0, "")
            look["const_width"] = paint.SHEATH_WEIGHT * UNIT_MM
            self._space.add_lwpolyline(way, dxfattribs=look)
        said: tuple[str, ...] = (
            wire.kind.value,
            wire.id,
            wire.start,
            wire.end,
            wire.cable,
            wire.core,
        )
        said += ("absent",) if wire.absent else ()
        entity.set_xdata(APPLICATION, [(1000, text[:_LONGEST]) for text in said])
        for label in wire.labels:
            self.text(label)

    def block(self, block: Block) -> None:
        """A device: frame, symbols, terminals, texts."""
        left, top, right, bottom = block.box
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        dashes = "FRAME" if block.missing or not block.framed else ""
        self.line(corners, "DEVICES", closed=True, dashes=dashes)
        for shape in (*block.leads, *(s for symbol in block.symbols for s in symbol.rest)):
            self.shape(shape, "DEVICES")
        for pin in block.pins:
            x, up, down = pin.x, pin.top - 3.5, pin.bottom + 3.5
            corners = ((x - 2.5, up), (x + 2.5, up), (x + 2.5, down), (x - 2.5, down))
            self.line(corners, "TERMINALS", closed=True)
            self.text(pin.label)
        for label in block.labels:
            self.text(label)

    def text(self, label: Label) -> None:
        """A line of text."""
        from ezdxf.enums import TextEntityAlignment

        order = (
            (label.text, label.strong) if label.anchor is Anchor.END else (label.strong, label.text)
        )
        words = " ".join(part for part in order if part)
        if not words:
            return
        entity = self._space.add_text(
            _escaped(words),
            height=0.7 * label.size * UNIT_MM,
            dxfattribs={"layer": "TEXT", "style": "Standard"},
        )
        align = {
            Anchor.START: TextEntityAlignment.LEFT,
            Anchor.MIDDLE: TextEntityAlignment.CENTER,
            Anchor.END: TextEntityAlignment.RIGHT,
        }[label.anchor]
        entity.set_placement(self._mm(label.at), align=align)


def _look(layer: str, colour: str, weight_mm: float, dashes: str) -> dict[str, object]:
    look: dict[str, object] = {"layer": layer, "true_color": int(colour[1:], 16)}
    if weight_mm and layer == "WIRES" and not dashes:
        look["const_width"] = weight_mm
    elif weight_mm:
        # Some viewers fill a line that has a width, dashes and all.
        look["lineweight"] = _lineweight(weight_mm)
    if dashes:
        look["linetype"] = dashes
    return look


def _lineweight(weight_mm: float) -> int:
    """The nearest of the file format's line weights, in hundredths of a millimetre."""
    known = (13, 18, 20, 25, 30, 35, 40, 50, 53, 60)
    return min(known, key=lambda each: abs(each - 100 * weight_mm))


def _visible(wire: Wire) -> str:
    """A white core would vanish on paper: plain grey, its letters say what it is."""
    colour = paint.wire_paint(wire)
    return paint.RULE if colour == "#ffffff" else colour


def _with_hops(wire: Wire) -> Iterable[tuple[Point, float]]:
    """The corners of a wire and its hops, each with the bulge of the piece that follows."""
    for piece, point in enumerate(wire.points):
        yield point, 0.0
        if piece + 1 == len(wire.points):
            return
        right = wire.points[piece + 1][0] > point[0]
        here = [hop for hop in wire.hops if hop.piece == piece]
        for hop in here if right else reversed(here):
            near, far = (hop.from_x, hop.to_x) if right else (hop.to_x, hop.from_x)
            # With y upward a hop to the right turns clockwise, one to the left the other way.
            way, bulge = (HOP, -BULGE_QUARTER) if right else (-HOP, BULGE_QUARTER)
            y = point[1]
            yield (near, y), bulge
            yield (near + way, y - HOP), 0.0
            yield (far - way, y - HOP), bulge
            yield (far, y), 0.0


def _escaped(text: str) -> str:
    """Carets start control codes in DXF text, percent pairs symbols: a space keeps them apart."""
    return text.replace("^", "^ ").replace("%%", "% %")
