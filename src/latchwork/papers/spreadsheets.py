"""Tables as CSV files and as one XLSX workbook. A text stays a text, whatever it begins with."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from latchwork.drawing.text import clean
from latchwork.papers.tables import Cell, Column, Table

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What spreadsheet programs take for a formula at the start of a CSV cell."""
HEADING_ROWS = 2
"""Title and headings; what is frozen in a sheet."""


def csv_bytes(table: Table) -> bytes:
    """A table as CSV, UTF-8 with a byte order mark so that spreadsheet programs see it.

    A text that a program could take for a formula gets an apostrophe before it.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(column.heading for column in table.columns)
    for row in table.rows:
        writer.writerow(_plain(c, cell) for c, cell in zip(table.columns, row, strict=True))
    return out.getvalue().encode("utf-8-sig")


def _plain(column: Column, cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{_rounded(column, cell):.{column.decimals or 0}f}"
    text = clean(cell)
    # A lone sign is a terminal's name, and no program takes it for a formula.
    return f"'{text}" if len(text) > 1 and text.startswith(_FORMULA) else text


def _rounded(column: Column, value: float) -> float:
    """A figure to its column's decimals; a trace below nothing is nothing, without a sign."""
    return round(value, column.decimals or 0) + 0.0


def xlsx_bytes(tables: Sequence[Table], title: str) -> bytes:
    """All tables as one workbook: a sheet each, headings frozen, filters on, widths set."""
    from openpyxl import Workbook
    from openpyxl.cell import Cell as SheetCell
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    book.properties.title = clean(title)
    book.properties.creator = "Latchwork"
    bold, wrap = Font(bold=True), Alignment(wrap_text=True, vertical="top")
    for table in tables:
        sheet = book.create_sheet(table.title)
        last = get_column_letter(len(table.columns))
        sheet.freeze_panes = f"A{HEADING_ROWS + 1}"
        sheet.auto_filter.ref = f"A{HEADING_ROWS}:{last}{HEADING_ROWS + len(table.rows)}"
        sheet.print_title_rows = f"1:{HEADING_ROWS}"
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        for n, column in enumerate(table.columns, start=1):
            sheet.column_dimensions[get_column_letter(n)].width = column.width

        def text(value: str, font: Font | None = None) -> SheetCell:
            cell = WriteOnlyCell(sheet, value=clean(value))  # noqa: B023  # used in this turn only
            cell.data_type = "s"
            cell.alignment = wrap
            if font is not None:
                cell.font = font
            return cell

        def number(column: Column, value: float) -> SheetCell:
            digits = column.decimals or 0
            cell = WriteOnlyCell(sheet, value=_rounded(column, value))  # noqa: B023  # likewise
            cell.number_format = "0." + "0" * digits if digits else "0"
            return cell

        sheet.append([text(f"{table.title} · {title}", bold)])
        sheet.append([text(column.heading, bold) for column in table.columns])
        for row in table.rows:
            sheet.append(
                [
                    number(c, cell) if isinstance(cell, float) else text(cell) if cell else None
                    for c, cell in zip(table.columns, row, strict=True)
                ]
            )
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
