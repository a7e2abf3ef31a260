"""Printed files against PDF/UA-1 and PDF/A-2a: a checker's rules, and the structure itself.

Sources: ISO 14289-1:2014 (clauses 5, 7.1 to 7.3, 7.21), ISO 19005-2:2011 (6.2.11, 6.6.2, 6.7), both
from memory; the checker's rules are its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from itertools import pairwise
from pathlib import Path

import pdfua
import pikepdf
import pytest

from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.labels import KINDS, LABEL_SHEETS, labels_pdf
from tests.papers.made import DAY, demo_pack, demo_source, text_of

FILES = ("A4", "Letter", "labels")


def file_of(name: str) -> bytes:
    if name == "labels":
        source, version = demo_source()
        return labels_pdf(source, LABEL_SHEETS["64x38"], Stamp(DAY, version), KINDS)
    return demo_pack(Paper(name))


@pytest.fixture(scope="module", params=FILES)
def opened(request: pytest.FixtureRequest) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(BytesIO(file_of(request.param))) as pdf:
        yield pdf


def elements(node: pikepdf.Object) -> Iterator[pikepdf.Dictionary]:
    """Every structure element below a node."""
    if isinstance(node, pikepdf.Array):
        for each in node:
            yield from elements(each)
    elif isinstance(node, pikepdf.Dictionary):
        if "/S" in node:
            yield node
        if "/K" in node:
            yield from elements(node["/K"])


@pytest.mark.parametrize("name", FILES)
def test_the_checker_finds_nothing(name: str, tmp_path: Path) -> None:
    file = tmp_path / "x.pdf"
    file.write_bytes(file_of(name))
    report = pdfua.validate(str(file))
    assert report.findings == ()


def test_the_checker_would_find_what_is_missing(tmp_path: Path) -> None:
    with pikepdf.open(BytesIO(demo_pack())) as pdf:
        del pdf.Root.StructTreeRoot
        del pdf.Root.Lang
        pdf.save(tmp_path / "x.pdf")
    rules = {finding.rule_id for finding in pdfua.validate(str(tmp_path / "x.pdf")).findings}
    assert len(rules) >= 2


def test_it_says_what_it_conforms_to(opened: pikepdf.Pdf) -> None:
    with opened.open_metadata() as xmp:
        assert xmp["pdfaid:part"] == "2"
        assert xmp["pdfaid:conformance"] == "A"
        assert xmp["{http://www.aiim.org/pdfua/ns/id/}part"] == "1"
        assert "Ferrowmoor Bindery" in str(xmp["dc:title"])
        assert "Ferrowmoor Bindery" in str(opened.docinfo["/Title"])


def test_it_is_tagged_and_has_a_language(opened: pikepdf.Pdf) -> None:
    root = opened.Root
    assert bool(root.MarkInfo.Marked)
    assert str(root.Lang) == "en"
    assert bool(root.ViewerPreferences.DisplayDocTitle)
    for page in opened.pages:
        assert "/StructParents" in page
        assert str(page.obj.get("/Tabs", "/S")) == "/S"


def test_every_picture_has_words_in_its_place(opened: pikepdf.Pdf) -> None:
    figures = [e for e in elements(opened.Root.StructTreeRoot) if e.S == "/Figure"]
    assert figures
    assert all(len(str(figure.get("/Alt", ""))) > 10 for figure in figures)


def test_tables_have_headings_and_levels_start_at_one() -> None:
    with pikepdf.open(BytesIO(demo_pack())) as pdf:
        found = list(elements(pdf.Root.StructTreeRoot))
    kinds = [str(element.S) for element in found]
    assert kinds.count("/TH") > kinds.count("/Table")
    heads = [int(kind[2:]) for kind in kinds if kind[:2] == "/H" and kind[2:].isdigit()]
    assert heads[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(heads))


def fonts(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Dictionary]:
    for item in pdf.objects:
        if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/Font":
            yield item


def test_every_font_is_embedded_and_maps_to_text(opened: pikepdf.Pdf) -> None:
    seen = 0
    for font in fonts(opened):
        if font.Subtype == "/Type0":
            seen += 1
            assert "/ToUnicode" in font
            descriptor = font.DescendantFonts[0].FontDescriptor
            assert {"/FontFile2", "/FontFile3"} & set(descriptor.keys())
        elif font.Subtype == "/Type3":
            assert "/ToUnicode" in font
        else:
            assert str(font.Subtype) in ("/CIDFontType0", "/CIDFontType2")
    assert seen


def test_nothing_acts_or_hangs_on_the_outside(opened: pikepdf.Pdf) -> None:
    assert not {"/OpenAction", "/AA", "/AcroForm"} & set(opened.Root.keys())
    assert not opened.is_encrypted
    for page in opened.pages:
        for annotation in page.obj.get("/Annots", []):
            assert str(annotation.A.S) == "/GoTo"


def test_a_sheet_reads_in_the_order_it_is_read() -> None:
    """Text as extracted follows the sheet: heading, then what to try, then the readings."""
    (page,) = [text for text in text_of(demo_pack()) if text.startswith("Tests D3")]
    places = [page.index(word) for word in ("Tests D3", "What to do", "At the lock", "Black lead")]
    assert places == sorted(places)
