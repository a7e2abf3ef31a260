"""Labels: codes are read back by a decoder, and each label stands where its sheet has it."""

from __future__ import annotations

import pypdfium2
import pytest
import zxingcpp

from latchwork.papers.asked import Stamp
from latchwork.papers.labels import KINDS, LABEL_SHEETS, LabelSheet, label_text, labels_pdf
from tests.papers.made import DAY, demo_source, source_from

DPI = 200.0
MM = DPI / 25.4


def read_back(pdf: bytes) -> list[list[tuple[str, float, float]]]:
    """Text and middle (mm from the left top) of every code on every page."""
    found = []
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            image = page.render(scale=DPI / 72.0).to_pil().convert("L")
            codes = []
            for code in zxingcpp.read_barcodes(image):
                at = code.position
                corners = (at.top_left, at.top_right, at.bottom_left, at.bottom_right)
                x = sum(c.x for c in corners) / 4.0 / MM
                y = sum(c.y for c in corners) / 4.0 / MM
                codes.append((code.text, x, y))
            found.append(codes)
    return found


@pytest.mark.parametrize("name", LABEL_SHEETS)
def test_every_code_is_read_back_in_its_place(name: str) -> None:
    size = LABEL_SHEETS[name]
    source, version = demo_source()
    pages = read_back(labels_pdf(source, size, Stamp(DAY, version), KINDS))
    answer = source.schedules
    wanted = [label_text(answer.reference, row.id) for row in answer.doors]
    for cable in answer.cables:
        wanted += [label_text(answer.reference, cable.door)] * 2
    a_page = size.across * size.down
    assert len(pages) == -(-len(wanted) // a_page)
    for number, codes in enumerate(pages):
        here = wanted[number * a_page : (number + 1) * a_page]
        assert sorted(text for text, _, _ in codes) == sorted(here)
        for text, x, y in codes:
            across = int((x - size.left) // size.step_x)
            down = int((y - size.top) // size.step_y)
            assert here[down * size.across + across] == text
            assert x - size.left - across * size.step_x < size.width
            assert y - size.top - down * size.step_y < size.height


@pytest.mark.parametrize("name", LABEL_SHEETS)
def test_sheets_fit_on_their_paper(name: str) -> None:
    size: LabelSheet = LABEL_SHEETS[name]
    wide, high = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[size.paper.value]
    assert size.left + (size.across - 1) * size.step_x + size.width <= wide + 0.1
    assert size.top + (size.down - 1) * size.step_y + size.height <= high + 0.1
    assert size.step_x >= size.width
    assert size.step_y >= size.height
    assert size.code + 2.0 * size.inset <= size.height


def test_what_a_code_holds() -> None:
    assert label_text("FB-07", "D3") == "latchwork:FB-07/D3"
    assert label_text("a/b ü", "") == "latchwork:a%2Fb%20%C3%BC"


LONG = """\
latchwork: 1
site: {name: "NAME"}
supplies: {S1: {part: supply 24 V}}
doors: {D77: {name: "NAME", lock: strike 24 V fail-secure, out by: lever}}
""".replace("NAME", "Quillet store for hoses and foam " * 4)
"""A door and a site with names longer than a small label."""


def test_a_long_name_does_not_push_the_door_off_its_label() -> None:
    """The id stands within the label (21.2 mm high, as ordered by that size): it was cut off above
    when all was set around the middle."""
    size = LABEL_SHEETS["38x21"]
    from_top = [each - size.top for each in id_mm(LONG, size)]
    assert 0.0 <= from_top[0] < from_top[1] <= size.height


def id_mm(job: str, size: LabelSheet) -> tuple[float, float]:
    """From where to where the D of D77 reaches, from the top of the sheet."""
    source, version = source_from(job)
    pdf = labels_pdf(source, size, Stamp(DAY, version), ("doors",))
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0]
        text = page.get_textpage()
        _, bottom, _, top = text.get_charbox(text.get_text_range().index("D77"))
        high = page.get_height()
    return (high - top) * 25.4 / 72.0, (high - bottom) * 25.4 / 72.0


def test_a_label_with_room_is_set_larger() -> None:
    """The smallest label has some 17 mm beside its code: a short name stood there with capitals of
    1.4 mm. A capital takes two thirds of its size in this face, measured off a print."""
    short = LONG.replace("Quillet store for hoses and foam " * 4, "Hose store")
    top, bottom = id_mm(short, LABEL_SHEETS["38x21"])
    assert bottom - top > 1.7
    top, bottom = id_mm(LONG, LABEL_SHEETS["38x21"])
    assert bottom - top < 1.2
