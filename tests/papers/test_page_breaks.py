"""No page gets a row or two: tables of every length, broken over pages. How many are worth a page
is common practice, no source."""

from __future__ import annotations

import re
from itertools import cycle, islice

import pypdfium2
import pytest

from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.content.drawings import site_drawings
from latchwork.papers.content.pictures import Picture, Pictures, pictures
from latchwork.papers.content.tests import test_sheets as sheets_of_tests
from latchwork.papers.content.wired import Wired
from latchwork.papers.pack import strip
from latchwork.papers.typeset import typeset
from tests.drawing.jobs import index_of
from tests.papers.made import DAY, demo_source, text_of

A_PAGE = {Paper.A4: range(22, 36), Paper.LETTER: range(18, 32)}
"""How many rows come to about a page."""
WORTH_A_PAGE = 8
"""Rows that the last page of a door's test sheet has at least, where there are several."""


def rows_by_page(paper: Paper, count: int) -> list[int]:
    """Rows of terminals on each page of a test sheet with that many."""
    source, version = demo_source()
    sheet = sheets_of_tests(source)[1]
    terminals = sheet["terminals"]
    assert isinstance(terminals, list)
    rows = [
        {**row, "span": 0 if n else count, "terminal": f"row{n}."}
        for n, row in enumerate(islice(cycle(terminals), count))
    ]
    sheet |= {"id": "tests-0", "short": "Tests", "terminals": rows}
    data = {**strip(source.index, paper, Stamp(DAY, version)), "sheets": [sheet]}
    return [len(re.findall(r"row\d+\.", page)) for page in text_of(typeset("pack.typ", data, DAY))]


@pytest.mark.parametrize("paper", Paper)
def test_a_page_has_no_row_or_two_of_a_table(paper: Paper) -> None:
    lengths = {n: rows_by_page(paper, n) for n in A_PAGE[paper]}
    assert {len(pages) for pages in lengths.values()} == {1, 2}
    for count, pages in lengths.items():
        assert sum(pages) == count
        assert min(pages) >= 3, f"{count} rows come to {pages}"
        assert len(pages) == 1 or pages[-1] >= WORTH_A_PAGE, f"{count} rows come to {pages}"


@pytest.mark.parametrize(("paper", "pages"), [(Paper.A4, 1), (Paper.LETTER, 2)])
def test_the_demos_archive_fits_a_page_or_fills_a_second(paper: Paper, pages: int) -> None:
    """33 rows: on A4 they lacked half a millimetre, and four stood on a page of their own."""
    source, version = demo_source()
    sheet = {**sheets_of_tests(source)[1], "id": "tests-0", "short": "Tests"}
    assert "Archive" in str(sheet["title"])
    data = {**strip(source.index, paper, Stamp(DAY, version)), "sheets": [sheet]}
    texts = text_of(typeset("pack.typ", data, DAY))
    assert len(texts) == pages
    if pages == 2:
        assert texts[1].startswith("Device Terminal"), "repeated"
        assert "D2.controller" in texts[1], "its twelve rows, and the four after them"
        assert "D2.controller" not in texts[0]


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("count", [6, 8])
def test_a_band_stands_on_one_line_in_its_own_row(paper: Paper, count: int) -> None:
    """A door with a second exit request has six columns: bands broke, and stood in the next row."""
    source, version = demo_source("mended")
    sheet = {**sheets_of_tests(source)[1], "id": "tests-0", "short": "Tests"}
    for key in ("locks", "terminals"):
        sheet[key] = [{**row, "cells": first(row["cells"], count)} for row in rows_of(sheet[key])]
    sheet["situations"] = first(sheet["situations"], count)
    data = {**strip(source.index, paper, Stamp(DAY, version)), "sheets": [sheet]}
    with pypdfium2.PdfDocument(typeset("pack.typ", data, DAY)) as document:
        text = "\n".join(page.get_textpage().get_text_range() for page in document)
    assert len(re.findall(r"\d\.\d\d–\d+\.\d\d", text)) > 50
    assert not re.search(r"–\s+\d|\d\s+–", text)


def first(values: object, count: int) -> list[object]:
    """So many of them, from the beginning again where they end."""
    assert isinstance(values, list)
    return list(islice(cycle(values), count))


def rows_of(value: object) -> list[dict[str, object]]:
    assert isinstance(value, list)
    return value


@pytest.mark.parametrize("paper", Paper)
def test_a_drawing_of_any_shape_stands_on_one_page(paper: Paper) -> None:
    """A turned sheet has its margins where the upright one has them: its room is not that turned.
    A drawing with a name to be set over it, two thirds as high as wide, left an empty page."""
    source, version = demo_source()
    over = {"text": "倉庫", "strong": "", "x": 0.0, "y": 20.0, "size": 17.0, "anchor": "start"}
    over |= {"mono": False, "bold": True, "quiet": False}
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 720 {0}" width="720" height="{0}"/>'
    shapes = [
        (("D1",), Picture(svg.format(high), "drawn", 720.0, float(high), (over,)))
        for high in range(340, 1180, 20)
    ]
    wired = Wired(source.index, (), (), (), Pictures({}, tuple(shapes)))
    sheets = [
        {**sheet, "id": f"site-{n}", "short": "Site"}
        for n, sheet in enumerate(site_drawings(wired, paper))
    ]
    data = {**strip(source.index, paper, Stamp(DAY, version)), "sheets": sheets}
    assert len(text_of(typeset("pack.typ", data, DAY))) == len(sheets)


def test_a_site_of_many_doors_is_drawn_large_enough_to_read() -> None:
    """Type of 6 pt at least (common practice, no source): with twelve doors on a sheet it had 4."""
    doors = "".join(
        f"  D{n}: {{lock: strike 24 V fail-secure, controller: controller, out by: lever,"
        f" supply: S1, runs: {{power: {n} m of 2 x 1.0 mm²}}}}\n"
        for n in range(1, 14)
    )
    index = index_of(f"latchwork: 1\nsupplies: {{S1: supply 24 V}}\ndoors:\n{doors}")
    sheets = site_drawings(Wired(index, (), (), (), pictures(index)), Paper.A4)
    assert sum(f'data-device="D{n}"' in str(s["svg"]) for n in range(1, 14) for s in sheets) == 13
    for sheet in sheets:
        wide, high = (258.0, 175.0) if sheet["landscape"] else (179.0, 258.0)
        scale_mm = min(wide / float(str(sheet["width"])), high / float(str(sheet["height"])))
        smallest = min(map(float, re.findall(r'font-size="([\d.]+)"', str(sheet["svg"]))))
        assert smallest * scale_mm * 72 / 25.4 >= 5.95
