"""Data through a template to a PDF: PDF/A-2a and PDF/UA-1, shipped fonts only, the same bytes for
the same data and date."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from latchwork.papers.printable import FONTS, all_printable

if TYPE_CHECKING:
    import typst

_HERE = Path(str(resources.files("latchwork.papers")))
TEMPLATES = _HERE / "templates"


class NotTypeset(RuntimeError):
    """The template did not compile: a mistake of ours."""


@cache
def _fonts() -> typst.Fonts:
    import typst

    return typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(_HERE / FONTS)],
    )


def typeset(template: str, data: Mapping[str, object], date: datetime.date) -> bytes:
    """The PDF. Texts reach the template as data, never as markup."""
    import typst

    compiler = typst.Compiler(
        str(TEMPLATES / template),
        root=str(TEMPLATES),
        font_paths=_fonts(),
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(all_printable(dict(data)), ensure_ascii=False)},
    )
    noon = datetime.datetime.combine(date, datetime.time(12), datetime.UTC)
    try:
        found, warnings = compiler.compile_with_warnings(
            format="pdf", pdf_standards=["a-2a", "ua-1"], timestamp=int(noon.timestamp())
        )
    except typst.TypstError as error:
        raise NotTypeset(error.message) from error
    if warnings:
        raise NotTypeset("; ".join(w.message for w in warnings))
    if not isinstance(found, bytes):
        raise NotTypeset("no document")
    return found
