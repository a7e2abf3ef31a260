"""CSV and XLSX hold what the answer holds; another library reads the workbook back."""

from __future__ import annotations

import csv
import io
import zipfile
from dataclasses import replace

import pytest
from python_calamine import CalamineWorkbook

from latchwork.papers.spreadsheets import HEADING_ROWS, csv_bytes, xlsx_bytes
from latchwork.papers.tables import Column, Table, tables
from tests.papers.made import demo_source

FORMULAS = ("=1+1", "+2", "-2", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0", '=HYPERLINK("x")')


def odd(name: str) -> Table:
    return Table("doors", (Column("door", 8), Column("length", 8, "m", 1)), ((name, 1.25),))


@pytest.fixture(scope="module")
def workbook() -> CalamineWorkbook:
    answer = demo_source()[0].schedules
    return CalamineWorkbook.from_filelike(io.BytesIO(xlsx_bytes(tables(answer), answer.site)))


def test_every_table_is_a_sheet_with_headings_and_rows(workbook: CalamineWorkbook) -> None:
    found = tables(demo_source()[0].schedules)
    assert workbook.sheet_names == [table.title for table in found]
    for table in found:
        rows = workbook.get_sheet_by_name(table.title).to_python()
        assert rows[1] == [column.heading for column in table.columns]
        assert len(rows) == HEADING_ROWS + len(table.rows)
        for shown, row in zip(rows[HEADING_ROWS:], table.rows, strict=True):
            for column, cell, value in zip(table.columns, shown, row, strict=True):
                if isinstance(value, float):
                    assert cell == round(value, column.decimals or 0)
                else:
                    assert cell == (value or "")


def test_units_stand_in_the_headings(workbook: CalamineWorkbook) -> None:
    heads = workbook.get_sheet_by_name("Cables").to_python()[1]
    assert "Length, m" in heads
    assert "Loop at 20 °C, Ω" in heads


def test_headings_are_frozen_and_widths_set() -> None:
    answer = demo_source()[0].schedules
    with zipfile.ZipFile(io.BytesIO(xlsx_bytes(tables(answer), answer.site))) as book:
        sheet = book.read("xl/worksheets/sheet1.xml").decode()
    assert '<pane ySplit="2" topLeftCell="A3"' in sheet
    assert 'state="frozen"' in sheet
    assert sheet.count("<col ") == len(tables(answer)[0].columns)


@pytest.mark.parametrize("name", FORMULAS)
def test_a_formula_in_a_name_is_a_text(name: str) -> None:
    book = xlsx_bytes((odd(name),), name)
    with zipfile.ZipFile(io.BytesIO(book)) as parts:
        assert b"<f>" not in parts.read("xl/worksheets/sheet1.xml")
    rows = CalamineWorkbook.from_filelike(io.BytesIO(book)).get_sheet_by_index(0).to_python()
    assert rows[2] == [name.strip(), 1.2]
    (_, row) = csv.reader(io.StringIO(csv_bytes(odd(name)).decode("utf-8-sig")))
    assert row == [f"'{name.strip()}", "1.2"]


def test_a_lone_sign_is_a_terminal_and_stays() -> None:
    assert b"\r\n+,1.2\r\n" in csv_bytes(odd("+"))


def test_what_no_file_may_hold_is_shown_as_a_mark() -> None:
    assert "a\ufffdb".encode() in csv_bytes(odd("a\x00b"))
    rows = CalamineWorkbook.from_filelike(io.BytesIO(xlsx_bytes((odd("a\x00b"),), "x")))
    assert rows.get_sheet_by_index(0).to_python()[2][0] == "a\ufffdb"


def test_a_trace_below_nothing_has_no_sign() -> None:
    table = odd("D1")
    traced = replace(table, rows=(("D1", -1e-9),))
    assert b"\r\nD1,0.0\r\n" in csv_bytes(traced)
    with zipfile.ZipFile(io.BytesIO(xlsx_bytes((traced,), "D1"))) as parts:
        assert b"<v>-0" not in parts.read("xl/worksheets/sheet1.xml")
