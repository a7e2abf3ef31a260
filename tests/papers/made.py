"""Papers of sample jobs, made once for all tests that look at them."""

from __future__ import annotations

import datetime
import tempfile
from functools import cache
from pathlib import Path

import pypdfium2

from latchwork.demo import write_demo
from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.content.source import Source
from latchwork.papers.pack import pack_pdf
from latchwork.papers.source import source_of

DAY = datetime.date(2026, 3, 2)


@cache
def demo_source(name: str = "draft") -> tuple[Source, str]:
    """The demo's job and its version; of the draft with its service plan."""
    with tempfile.TemporaryDirectory() as folder:
        draft, mended = write_demo(Path(folder))
        return source_of(draft, service=_quiet) if name == "draft" else source_of(mended)


def _quiet(_what: str, _done: int, _total: int) -> None:
    """Nobody looks how far it is."""


@cache
def demo_pack(paper: Paper = Paper.A4) -> bytes:
    """The whole pack of the demo's draft."""
    source, version = demo_source()
    return pack_pdf(source, paper, Stamp(DAY, version))


@cache
def source_from(text: str) -> tuple[Source, str]:
    """What a job file of that text gives."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "job.yaml").write_text(text, encoding="utf-8")
        return source_of(Path(folder))


def text_of(pdf: bytes) -> list[str]:
    """The text of each page as a PDF reader gives it out, spaces and line ends made single.

    The reader takes a minus at the end of a line for a hyphen and marks it with U+FFFE.
    """
    with pypdfium2.PdfDocument(pdf) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    return [" ".join(text.replace("\ufffe", "-").split()) for text in texts]
