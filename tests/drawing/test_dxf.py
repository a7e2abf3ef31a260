"""The DXF is sound to its own library's audit and reads back into the same connections."""

from __future__ import annotations

import io

import pytest
from ezdxf.document import Drawing
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read

from latchwork.drawing.door import door_sheet
from latchwork.drawing.dxf import APPLICATION, LAYERS, dxf
from latchwork.drawing.sheet import UNIT_MM, Sheet, WireKind
from latchwork.drawing.site import site_sheet
from tests.drawing.jobs import demo, site_of


def sheets() -> list[Sheet]:
    index = demo("mended")
    whole = [site_sheet(index), *(door_sheet(index, door) for door in index.plan.doors)]
    generated = site_of(3)
    return [*whole, *(door_sheet(generated, door) for door in list(generated.plan.doors)[:4])]


def reread(sheet: Sheet) -> Drawing:
    return read(io.StringIO(dxf(sheet).decode("utf-8")))


@pytest.mark.parametrize("sheet", sheets(), ids=lambda s: s.id)
def test_dxf_is_sound_and_says_what_is_joined(sheet: Sheet) -> None:
    document = reread(sheet)
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.header["$INSUNITS"] == 4  # millimetres, by the DXF reference
    assert set(LAYERS) <= {layer.dxf.name for layer in document.layers}
    wires = [e for e in document.modelspace().query("LWPOLYLINE") if e.dxf.layer == "WIRES"]
    said = set()
    for wire in wires:
        assert isinstance(wire, LWPolyline)
        _, name, start, end, *_ = (
            value for code, value in wire.get_xdata(APPLICATION) if code == 1000
        )
        said.add((name, start, end))
        pins = {pin.id: pin for block in sheet.blocks for pin in block.pins}
        for point, pin in zip((wire[0], wire[-1]), (pins[start], pins[end]), strict=True):
            x, y = point[0] / UNIT_MM, sheet.height - point[1] / UNIT_MM
            assert abs(x - pin.x) < 0.01
            assert pin.top - 0.01 <= y <= pin.bottom + 0.01
    assert said == {(wire.id, wire.start, wire.end) for wire in sheet.wires}


def test_dxf_texts_are_those_of_the_sheet() -> None:
    sheet = door_sheet(demo("mended"), "D2")
    texts = {text.dxf.text for text in reread(sheet).modelspace().query("TEXT")}
    assert {"COM1", "NC1", "D2 Archive"} <= texts
    assert any(text.endswith("release 3 m BU") for text in texts)


def test_the_same_sheet_gives_the_same_bytes() -> None:
    sheet = door_sheet(demo("mended"), "D1")
    assert dxf(sheet) == dxf(sheet)


def test_a_cable_of_the_site_is_a_double_line() -> None:
    """The sheet says so: "Double lines are cables, single ones short leads." Both were single."""
    sheet = site_sheet(demo("mended"))
    lines = reread(sheet).modelspace().query("LWPOLYLINE")
    ways: dict[str, list[tuple[list[tuple[float, ...]], float]]] = {"WIRES": [], "SHEATHS": []}
    for line in lines:
        assert isinstance(line, LWPolyline)
        if line.dxf.layer in ways:
            way = [tuple(point) for point in line.get_points("xy")]
            ways[line.dxf.layer].append((way, line.dxf.const_width))
    cables = sum(wire.kind is WireKind.CABLE for wire in sheet.wires)
    upon = [(w, width) for w, width in ways["SHEATHS"] if any(w == v for v, _ in ways["WIRES"])]
    assert len(upon) == cables
    for way, width in upon:
        assert all(wider > width for other, wider in ways["WIRES"] if other == way)


def test_dashes_are_long_enough_to_be_seen() -> None:
    """Under half a millimetre a gap is lost in a printed line (common practice, no source); what is
    dashed in the SVG is here too: the swing of a leaf, what moves together, what is left open."""
    found = set()
    for sheet in sheets():
        document = reread(sheet)
        for entity in document.modelspace():
            if entity.dxf.linetype == "BYLAYER":
                continue
            kind = document.linetypes.get(entity.dxf.linetype)
            found.add(kind.dxf.name)
            scale = document.header["$LTSCALE"] * entity.dxf.ltscale
            # Group code 49 of the DXF reference: a dash, or below nothing a gap.
            lengths = [scale * t.value for t in kind.pattern_tags.tags if t.code == 49]
            assert min(map(abs, lengths)) >= 0.5
            # A line that has a width is filled by some viewers, dashes and all.
            assert not getattr(entity.dxf, "const_width", 0.0)
    assert {"SHAPE", "FRAME"} <= found
