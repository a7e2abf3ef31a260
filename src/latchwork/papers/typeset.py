"""Data through a template to a PDF: PDF/A-2a and PDF/UA-1, shipped fonts only, the same bytes for
the same data and date."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from latchwork.papers.printable import FONTS, all_printable

if TYPE_CHECKING:
    import typst

_HERE = Path(str(resources.files("latchwork.papers")))
TEMPLATES = _HERE / "templates"
MAIN, DATA = "main.typ", "data.json"
"""What a template and its data are called among the typesetter's files."""
AHEAD = "ahead"
"""Key of the sheets that are known ahead, and in place of such a sheet its number."""


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
    return Press(template).pdf(data, date)


class Press:
    """A template, and the sheets of a document that are known ahead of the others.

    What has once been laid out is kept in memory by the typesetter, as long as it is asked for with
    the same inputs. So what is known ahead comes as an input, and what comes later as a file.
    """

    def __init__(self, template: str, ahead: Sequence[object] = ()) -> None:
        files = {path.name: path.read_bytes() for path in TEMPLATES.iterdir()}
        self._files = {**files, MAIN: files[template]}
        self._inputs = {AHEAD: _as_json(ahead).decode()}

    def lay_out(self, data: Mapping[str, object]) -> None:
        """Lay out, so that it is quicker later."""
        self._compiler(data).query("<nothing>")

    def pdf(self, data: Mapping[str, object], date: datetime.date) -> bytes:
        """The PDF. Texts reach the template as data, never as markup."""
        import typst

        noon = datetime.datetime.combine(date, datetime.time(12), datetime.UTC)
        try:
            found, warnings = self._compiler(data).compile_with_warnings(
                format="pdf", pdf_standards=["a-2a", "ua-1"], timestamp=int(noon.timestamp())
            )
        except typst.TypstError as error:
            raise NotTypeset(error.message) from error
        if warnings:
            raise NotTypeset("; ".join(w.message for w in warnings))
        if not isinstance(found, bytes):
            raise NotTypeset("no document")
        return found

    def _compiler(self, data: Mapping[str, object]) -> typst.Compiler:
        import typst

        files = {**self._files, DATA: _as_json(dict(data))}
        return typst.Compiler(
            files,  # type: ignore[type-var]  # files by name are taken too
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs=self._inputs,
        )


def _as_json(data: object) -> bytes:
    return msgspec.json.encode(all_printable(data))
