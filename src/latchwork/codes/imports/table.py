"""A list with a heading row, from CSV or XLSX, every cell as text with its line."""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from latchwork.codes.errors import CodesError, file_problem
from latchwork.tree import read_whole

LARGEST = 16 * 1024 * 1024
LARGEST_UNPACKED = 256 * 1024 * 1024
MOST_ROWS = 100_000
MOST_COLUMNS = 64


@dataclass(frozen=True, slots=True, repr=False)
class Row:
    """One line below the heading: its number in the file, and cells by heading (lower case)."""

    line: int
    cells: Mapping[str, str]

    def __repr__(self) -> str:
        return f"Row({self.line})"


@dataclass(frozen=True, slots=True)
class Table:
    """A list. ``columns`` are the headings, lower case, as they stand."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def read_table(path: Path) -> Table:
    """A list by its file's ending: .xlsx, else CSV. Raises CodesError where it cannot be read."""
    try:
        data = read_whole(path, LARGEST + 1)
    except OSError as error:
        raise CodesError(
            file_problem(path.name, 0, "", error.strerror or "an error", "a file to read")
        ) from None
    if len(data) > LARGEST:
        raise CodesError(file_problem(path.name, 0, "", "a larger file", "at most 16 MB"))
    if path.suffix.lower() in (".xlsx", ".xlsm") or data.startswith(b"PK\x03\x04"):
        return _table(path.name, _xlsx_rows(data, path.name))
    return _table(path.name, _csv_rows(data, path.name))


def read_csv(data: bytes, file: str) -> Table:
    """A list in CSV: UTF-8 or UTF-16 with its mark, or Windows-1252; comma, semicolon or tab."""
    return _table(file, _csv_rows(data, file))


def _csv_rows(data: bytes, file: str) -> Iterable[tuple[int, list[str]]]:
    text = _decode(data, file)
    if "\x00" in text:
        raise CodesError(file_problem(file, 0, "", "bytes that are no text", "CSV or XLSX"))
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows = []
    line = 1
    try:
        for cells in reader:
            rows.append((line, cells))
            line = reader.line_num + 1
            if len(rows) > MOST_ROWS:
                raise CodesError(file_problem(file, line, "", "more rows", f"{MOST_ROWS} at most"))
    except csv.Error as error:
        raise CodesError(
            file_problem(file, reader.line_num, "", str(error), "CSV with closed quotes")
        ) from None
    return rows


def _decode(data: bytes, file: str) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise CodesError(file_problem(file, 0, "", "bytes that are no text", "CSV in UTF-8, or XLSX"))


def _xlsx_rows(data: bytes, file: str) -> Iterable[tuple[int, list[str]]]:
    from openpyxl import load_workbook

    broken = CodesError(file_problem(file, 0, "", "no workbook", "an XLSX file with one sheet"))
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(info.file_size for info in archive.infolist()) > LARGEST_UNPACKED:
                raise CodesError(file_problem(file, 0, "", "a larger workbook", "a smaller one"))
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()
        rows = []
        for line, cells in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS, values_only=True), 1):
            if line > MOST_ROWS:
                raise CodesError(file_problem(file, line, "", "more rows", f"{MOST_ROWS} at most"))
            rows.append((line, [_text(cell) for cell in cells]))
        return rows
    except CodesError:
        raise
    except Exception:  # a broken workbook fails in as many ways as it has parts
        raise broken from None


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, dt.datetime):
        return cell.date().isoformat() if cell.time() == dt.time() else cell.isoformat(" ")
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)


def _table(file: str, rows: Iterable[tuple[int, list[str]]]) -> Table:
    filled = [(line, [c.strip() for c in cells]) for line, cells in rows]
    filled = [(line, cells) for line, cells in filled if any(cells)]
    if not filled:
        raise CodesError(file_problem(file, 0, "", "nothing", "a heading row and rows below it"))
    heading = [cell.casefold() for cell in filled[0][1]]
    while heading and not heading[-1]:
        heading.pop()
    if len(heading) > MOST_COLUMNS:
        raise CodesError(
            file_problem(file, filled[0][0], "", "more columns", f"{MOST_COLUMNS} at most")
        )
    twice = {h for h in heading if h and heading.count(h) > 1}
    if twice:
        found = f"{sorted(twice)[0][:40]} twice"
        raise CodesError(file_problem(file, filled[0][0], "", found, "each heading once"))
    found_rows = [
        Row(line, {h: v for h, v in zip(heading, cells, strict=False) if h})
        for line, cells in filled[1:]
    ]
    return Table(file, tuple(h for h in heading if h), tuple(found_rows))
