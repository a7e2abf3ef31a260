"""Names of any script, length or markup print as text and break nothing."""

from __future__ import annotations

import pypdfium2
import pytest

from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.labels import LABEL_SHEETS, labels_pdf
from latchwork.papers.pack import pack_pdf
from latchwork.papers.printable import printable
from tests.cli.calling import ONE_DOOR
from tests.papers.made import DAY, source_from, text_of

NAMES = {
    "typst markup": "#panic() *bold* _x_ $y$ `raw` @ref <label> = head [b] // c \\ \\u{41}",
    "svg markup": "<script>x</script> &amp; <b>bold</b> \" ' ]]>",
    "formula": '=HYPERLINK("x";"y")',
    "hebrew": "שער החצר",
    "arabic": "باب المخزن",
    "mixed": "Gate שער 7 باب",
    "devanagari": "भण्डार द्वार",
    "thai": "ประตูหลัก",
    "japanese": "倉庫の扉",
    "no font": "창고 문",
    "emoji": "Door 🚪👩‍🔧",
    "steering": "a\u202eb\u2066c",
    "long word": "x" * 200,
    "long words": "north store by the loading bay " * 7,
    "greek and cyrillic": "Αποθήκη склад",
    "combining": "e\u0301tage a\u0308",
}
LEFT_TO_RIGHT = ("typst markup", "svg markup", "formula", "greek and cyrillic", "combining")


def job(name: str) -> str:
    quoted = '"' + "".join(f"\\U{ord(c):08X}" for c in name) + '"'
    return ONE_DOOR.replace("Sample house", "NAME").replace("Front", "NAME").replace("NAME", quoted)


@pytest.mark.parametrize("kind", NAMES)
def test_a_whole_pack_is_made(kind: str) -> None:
    source, version = source_from(job(NAMES[kind]))
    pages = text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version)))
    assert len(pages) > 10
    if kind in LEFT_TO_RIGHT:
        name = " ".join(printable(NAMES[kind]).split())
        assert name in pages[0]


def test_what_no_font_holds_prints_as_its_numbers() -> None:
    source, version = source_from(job(NAMES["no font"]))
    pages = text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), ["cover"]))
    assert "U+CC3DU+ACE0 U+BB38" in pages[0]


@pytest.mark.parametrize("kind", ["typst markup", "long word", "mixed", "no font"])
def test_labels_are_made(kind: str) -> None:
    source, version = source_from(job(NAMES[kind]))
    assert labels_pdf(source, LABEL_SHEETS["38x21"], Stamp(DAY, version), ("doors", "cables"))


@pytest.mark.parametrize("section", ["doors", "emergency"])
def test_a_long_id_stays_in_its_column(section: str) -> None:
    """Pieces such as "Medication-" are wider than the column of a D12."""
    job = ONE_DOOR.replace("D1:", "Medication-and-controlled-drugs-store-01:")
    source, version = source_from(job.replace("Front", "Xylem"))
    pdf = pack_pdf(source, Paper.A4, Stamp(DAY, version), [section])
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0].get_textpage()
        text = page.get_text_range()
        boxes = [page.get_charbox(n) for n in range(page.count_chars())]
    at = text.index("Medica")
    _, low, _, high = boxes[at]
    beside = [
        box for box in boxes[at : at + len("Medication-")] if low < (box[1] + box[3]) / 2 < high
    ]
    assert len(beside) >= len("Medica")
    assert max(right for _, _, right, _ in beside) < boxes[text.index("Xylem")][0]


def test_a_name_of_one_long_word_stays_in_its_column() -> None:
    """By hand: 49 letters are wider than the column, and ran on over the way out."""
    name = "Klimatisierungsanlagensteuerungsraumverbindungstür"
    source, version = source_from(ONE_DOOR.replace("Front", name))
    pdf = pack_pdf(source, Paper.A4, Stamp(DAY, version), ["emergency"])
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0].get_textpage()
        text = page.get_text_range()
        boxes = [page.get_charbox(n) for n in range(page.count_chars())]
    row = boxes[text.index("Klima") : text.index("by the lever")]
    assert len(row) >= len(name)
    assert max(right for _, _, right, _ in row) < boxes[text.index("by the lever")][0]


def test_a_name_of_one_long_word_stays_on_its_label() -> None:
    """A label of 38.1 mm, 4.7 mm from the edge: 50 letters lost their end without a sign."""
    name = "Klimatisierungsanlagensteuerungsraumverbindungstür"
    source, version = source_from(ONE_DOOR.replace("Front", name))
    pdf = labels_pdf(source, LABEL_SHEETS["38x21"], Stamp(DAY, version), ("doors",))
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0].get_textpage()
        text = page.get_text_range()
        boxes = [page.get_charbox(n) for n in range(page.count_chars())]
    row = boxes[text.index("Klima") : text.index("Sample")]
    assert len(row) >= len(name)
    assert max(right for _, _, right, _ in row) <= (4.7 + 38.1) * 72 / 25.4
