"""A core of the plan that is not there is drawn where it should be: dashed, thin, with a word."""

from __future__ import annotations

import io

import pytest
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read as read_dxf

from latchwork.drawing.door import door_sheet
from latchwork.drawing.dxf import APPLICATION, dxf
from latchwork.drawing.sheet import Form, Sheet
from latchwork.drawing.svg import svg
from tests.drawing.jobs import index_of
from tests.drawing.reading import NS, read

JOB = """\
latchwork: 1
site: {name: Sample house}
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}}
cables: {trunk: 20 m of 2 x 2.5 mm²}
taps: {K1: {on: trunk, at: 12 m}}
wiring: [[S1.1, trunk brown, open], [S1.-, trunk blue, open]]
doors:
  D1:
    lock: strike 24 V fail-secure
    controller: controller
    controller at: supply
    exit: exit button
    runs: {exit: 6 m of 4 x 0.22 mm², lock: 8 m of 4 x 0.5 mm²}
    wiring: {power: [[S1.1, lead, controller.+], [S1.-, lead, controller.-]]}
    found:
      - {missing: exit brown}
      - {missing: lock blue}
"""
GONE = {"D1.exit.brown", "D1.lock.blue"}


def sheet(form: Form = Form.WIDE) -> Sheet:
    return door_sheet(index_of(JOB), "D1", form)


@pytest.mark.parametrize("form", Form)
def test_it_is_drawn_between_the_terminals_it_should_join(form: Form) -> None:
    drawing = read(svg(sheet(form)))
    absent = {line.data["wire"]: line for line in drawing.lines if line.data.get("absent")}
    assert absent.keys() == GONE
    for line in absent.values():
        ends = [drawing.touched(point) for point in (line.points[0], line.points[-1])]
        assert ends == [[line.data["from"]], [line.data["to"]]]
        assert line.means.startswith("not there: ")
    assert sum("not there" in text for text in drawing.texts) >= 4, "at both ends of each"
    assert "Dashed lines are cores of the plan that are not" in " ".join(drawing.texts)


def test_it_has_no_colour_and_its_terminals_are_empty() -> None:
    """Readable in grey: by dashes and weight, not by a tint."""
    drawing = read(svg(sheet()))
    assert drawing.root is not None
    groups = [g for g in drawing.root.iter(f"{NS}g") if g.attrib.get("data-absent")]
    for group in groups:
        (path,) = group.findall(f"{NS}path")
        assert path.attrib["stroke-dasharray"]
        assert path.attrib["stroke"] == "#17222f", "the ink of the sheet"
        assert float(path.attrib["stroke-width"]) < 1.4, "thinner than a lead"
    filled = {pin.id for block in sheet().blocks for pin in block.pins if pin.wires}
    assert {"D1.controller.GND", "D1.exit.COM"}.isdisjoint(filled)
    assert {"D1.controller.EXIT", "D1.exit.NO", "D1.controller.-"} <= filled


def test_it_is_neither_used_nor_spare_and_feeds_no_lock() -> None:
    rows = [text for text in read(svg(sheet())).texts if text in ("WH", "GN YE", "BN WH GN YE")]
    assert sorted(rows) == ["GN YE", "WH"], "of the exit cable's four: brown is in no list"
    assert not [text for text in read(svg(sheet())).texts if text.startswith("Return through")]


def test_dxf_has_it_dashed_and_says_so() -> None:
    document = read_dxf(io.StringIO(dxf(sheet()).decode("utf-8")))
    found = {}
    for wire in document.modelspace().query("LWPOLYLINE"):
        if isinstance(wire, LWPolyline) and wire.dxf.layer == "WIRES":
            said = [value for code, value in wire.get_xdata(APPLICATION) if code == 1000]
            if wire.dxf.linetype != "BYLAYER":
                found[said[1]] = said[-1]
    assert found == dict.fromkeys(GONE, "absent")


def test_of_a_cable_that_the_site_shares_it_is_drawn_too() -> None:
    text = JOB.replace("S1.1, lead, controller.+", "K1.brown, lead, controller.+")
    text = text.replace("S1.-, lead, controller.-", "K1.blue, lead, controller.-")
    text = text.replace("doors:\n", "found: [{missing: trunk blue}]\ndoors:\n")
    index = index_of(text)
    absent = [wire for wire in door_sheet(index, "D1").wires if wire.absent]
    assert {wire.id for wire in absent} == {*GONE, "trunk.blue"}
