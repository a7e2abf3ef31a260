"""What the painter adds: colours and letters, contacts at rest, a state laid over."""

from __future__ import annotations

import io
import pathlib
import xml.etree.ElementTree as ET

import pytest
import typst
from PIL import Image

from latchwork.drawing.colours import core_colour
from latchwork.drawing.door import door_sheet
from latchwork.drawing.overlay import Overlay
from latchwork.drawing.sheet import Form, Ink, Path, Title
from latchwork.drawing.site import site_sheet
from latchwork.drawing.svg import stylesheet, svg
from latchwork.elements import Contact
from tests.drawing.jobs import demo, index_of, site_of
from tests.drawing.reading import NS, read


@pytest.mark.parametrize(
    ("words", "letters"),
    [
        # IEC 60757, table 1 and clause 4; from memory.
        ("black", "BK"),
        ("brown", "BN"),
        ("red", "RD"),
        ("orange", "OG"),
        ("yellow", "YE"),
        ("green", "GN"),
        ("blue", "BU"),
        ("violet", "VT"),
        ("grey", "GY"),
        ("white", "WH"),
        ("pink", "PK"),
        ("turquoise", "TQ"),
        ("green-yellow", "GNYE"),
        # White cores of category pairs, marked with their mate's colour (TIA-568; from memory).
        ("blue-white", "WH/BU"),
        ("orange-white", "WH/OG"),
        # DIN 47100, eleventh and twelfth core; from memory.
        ("grey-pink", "GY/PK"),
        ("red-blue", "RD/BU"),
        # Not in IEC 60757: the name stands alone.
        ("tan", ""),
        ("screen", ""),
    ],
)
def test_letters_of_core_colours(words: str, letters: str) -> None:
    assert core_colour(words).letters == letters


def test_every_core_of_the_catalogue_has_letters_or_keeps_its_name() -> None:
    for seed in range(6):
        index = site_of(seed)
        for door in index.plan.doors:
            for form in Form:
                for wire in door_sheet(index, door, form).wires:
                    if wire.core:
                        shown = " ".join(f"{w.strong} {w.text} {w.full}" for w in wire.labels)
                        assert wire.letters in shown
                        assert wire.letters or wire.core in shown


def test_contacts_are_drawn_at_rest() -> None:
    """The rest position in the drawing is the part's own, for every contact that is drawn."""
    index = demo("mended")
    seen = 0
    for door in index.plan.doors:
        root = ET.fromstring(svg(door_sheet(index, door)))
        drawn = {
            group.attrib["data-element"]: group.attrib["data-rest"]
            for group in root.iter(f"{NS}g")
            if "data-rest" in group.attrib
        }
        for device in index.plan.devices.values():
            for element in device.part.elements:
                name = f"{device.id}.{element.name}"
                if isinstance(element, Contact) and name in drawn:
                    assert drawn[name] == element.at_rest
                    seen += 1
    assert seen > 20


def test_a_moved_contact_is_drawn_moved() -> None:
    index = demo("mended")
    sheet = door_sheet(index, "D2")
    moved = "D2.controller.contact NO"
    plain, painted = (
        _element(svg(sheet, overlay), moved) for overlay in (None, Overlay(moved={moved}))
    )
    assert plain != painted
    other = "D2.release.contact NO1"
    assert _element(svg(sheet), other) == _element(svg(sheet, Overlay(moved={moved})), other)


def _element(text: str, name: str) -> list[str]:
    root = ET.fromstring(text)
    group = next(g for g in root.iter(f"{NS}g") if g.attrib.get("data-element") == name)
    return [path.attrib["d"] for path in group.iter(f"{NS}path")]


def test_volts_stand_at_their_terminals() -> None:
    index = demo("mended")
    overlay = Overlay(volts={"D2.lock.+": 23.456, "D2.lock.-": None})
    root = ET.fromstring(svg(door_sheet(index, "D2"), overlay))
    shown = {
        group.attrib["data-terminal"]: "".join(text.itertext())
        for group in root.iter(f"{NS}g")
        for text in group.findall(f"{NS}text")
        if "data-terminal" in group.attrib and "data-volts" in text.attrib
    }
    assert shown == {"D2.lock.+": "23.46 V", "D2.lock.-": "floats"}


def test_more_current_is_drawn_heavier_and_none_thin() -> None:
    index = demo("mended")
    sheet = door_sheet(index, "D2")
    core = "D2.power.brown"
    weights = [
        _weight(svg(sheet, Overlay(amps={core: amps})), core) for amps in (0.0, 0.01, 0.3, 3.0)
    ]
    assert weights == sorted(set(weights))
    assert weights[0] < _weight(svg(sheet), core)


def test_current_arrows_turn_with_the_current() -> None:
    index = demo("mended")
    sheet = door_sheet(index, "D2")
    core = "D2.power.brown"
    there, back = (_ways(svg(sheet, Overlay(amps={core: a})), core)[-1] for a in (0.3, -0.3))
    assert there != back


def _ways(text: str, wire: str) -> list[str]:
    root = ET.fromstring(text)
    group = next(g for g in root.iter(f"{NS}g") if g.attrib.get("data-wire") == wire)
    return [path.attrib["d"] for path in group.findall(f"{NS}path")]


def _weight(text: str, wire: str) -> float:
    root = ET.fromstring(text)
    group = next(g for g in root.iter(f"{NS}g") if g.attrib.get("data-wire") == wire)
    paths = [path for path in group.findall(f"{NS}path") if "class" not in path.attrib]
    return float(paths[0].attrib["stroke-width"])


def test_plain_drawings_hold_no_style_sheet() -> None:
    """For programs that read no style sheets every colour is an attribute."""
    sheet = door_sheet(demo("mended"), "D1")
    plain, themed = svg(sheet, themed=False), svg(sheet)
    assert "<style>" not in plain
    assert "var(" not in plain
    assert stylesheet() in themed
    root = ET.fromstring(plain)
    for path in root.iter(f"{NS}path"):
        assert path.attrib["stroke"]


def test_alternative_text_tells_the_connections() -> None:
    """A title and a description, named by the root, as WAI-ARIA's role img asks for."""
    root = ET.fromstring(svg(door_sheet(demo("mended"), "D1")))
    assert root.attrib["role"] == "img"
    ids = root.attrib["aria-labelledby"].split()
    texts = {each.attrib["id"]: each.text or "" for each in root if "id" in each.attrib}
    assert "D1 Street door" in texts[ids[0]]
    assert "D1.power brown from S2.1 to D1.controller.+" in texts[ids[1]]


def test_the_title_strip_says_job_sheet_date_and_version() -> None:
    sheet = door_sheet(demo("mended"), "D1", title=Title("A job", "2026-03-01", "4"))
    texts = " ".join(read(svg(sheet)).texts)
    for word in ("A job", "Sheet D1", "2026-03-01", "Version 4"):
        assert word in texts


def test_ids_of_two_drawings_do_not_meet_in_a_page() -> None:
    index = demo("mended")
    sheets = [*(door_sheet(index, door) for door in index.plan.doors), site_sheet(index)]
    found = [
        each.attrib["id"] for s in sheets for each in ET.fromstring(svg(s)) if "id" in each.attrib
    ]
    assert len(found) == len(set(found)) == 2 * len(sheets)


def test_the_same_sheet_gives_the_same_bytes() -> None:
    assert svg(door_sheet(demo("draft"), "D7")) == svg(door_sheet(demo("draft"), "D7"))


def test_the_diode_has_its_band_at_the_cathode() -> None:
    """IEC 60617 05-03-01: the bar stands at the cathode; from memory. Across a lock the cathode is
    on plus (trade practice: band to plus)."""
    sheet = door_sheet(demo("mended"), "D1")
    diode = next(block for block in sheet.blocks if block.kind == "diode")
    rows = {pin.name: (pin.top + pin.bottom) / 2 for pin in diode.pins}
    (symbol,) = diode.symbols
    (band,) = [s for s in symbol.rest if isinstance(s, Path) and s.ink is Ink.HEAVY]
    (body,) = [s for s in symbol.rest if isinstance(s, Path) and s.filled]
    y = band.points[0][1]
    assert abs(y - rows["K"]) < abs(y - rows["A"])
    tip = [point for point in body.points if point[1] == y]
    assert len(tip) == 1
    joined = {frozenset((wire.start, wire.end)) for wire in sheet.wires}
    assert frozenset(("D1.lock.+", "D1.diode.K")) in joined


def test_a_program_whose_style_sheets_know_no_variables_paints_it(tmp_path: pathlib.Path) -> None:
    """Held against resvg, within Typst: paper is light and ink is dark."""
    drawn = svg(door_sheet(demo("mended"), "D1"))
    (tmp_path / "door.svg").write_text(drawn, encoding="utf-8")
    page = tmp_path / "page.typ"
    page.write_text('#set page(margin: 0pt)\n#image("door.svg", width: 100%)', encoding="utf-8")
    made = typst.compile(page, format="png", ppi=40)
    assert isinstance(made, bytes)
    shades = Image.open(io.BytesIO(made)).convert("L").histogram()
    assert sum(shades[200:]) > 4 * sum(shades[:200]) > 0


def test_a_lead_that_the_plan_does_not_have_is_marked() -> None:
    """A foot says what the mark is for."""
    text = svg(door_sheet(index_of(JUMPER), "D1"))
    marked = [line for line in read(text).lines if line.data.get("planned") == "no"]
    assert [{line.data["from"], line.data["to"]} for line in marked] == [
        {"D1.controller.GND", "D1.lock.-"}
    ]
    assert "* differs from the plan" in text


JUMPER = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}}
doors:
  D1:
    lock: strike 24 V fail-secure
    controller: controller
    supply: S1 out 1
    runs: {power: 9 m of 2 x 1.0 mm²}
    found: [{added: lead, from: controller.GND, to: lock.-}]
"""
