"""Lists of people: read from CSV and XLSX, shown before anything is done, all problems at once."""

from __future__ import annotations

import datetime as dt
import zipfile
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from latchwork.codes.cards.describe import shipped_layouts
from latchwork.codes.errors import CodesError
from latchwork.codes.imports import table as table_module
from latchwork.codes.imports.people import Options, Preview, preview
from latchwork.codes.imports.table import read_csv, read_table
from latchwork.codes.register import changes as c
from latchwork.codes.register.people import find_person
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from tests.codes.sites import entry, small_register

OPTIONS = Options(shipped_layouts()["26-bit"])


def run(text: str, register: Register | None = None, **changed: object) -> Preview:
    options = replace(OPTIONS, **changed)  # type: ignore[arg-type]  # as the field
    return preview(read_csv(text.encode(), "people.csv"), register or small_register(), options)


def wrong(text: str, register: Register | None = None) -> str:
    with pytest.raises(CodesError) as caught:
        run(text, register)
    return str(caught.value)


def test_new_people_with_pins_and_cards() -> None:
    register = small_register()
    text = (
        "Name;Groups;PIN;Card;Valid until\n"
        "Ruda Stent;staff, keepers;yes;45,777;2026-12-31\nWenke Olm;staff;no;;\n"
    )
    found = run(text, register)
    assert [(p.kind, p.name, p.line) for p in found.planned] == [
        ("new", "Ruda Stent", 2),
        ("new", "Wenke Olm", 3),
    ]
    register.extend([entry(*found.changes)])
    ruda = register.people["P9"]
    assert ruda.groups == ("staff", "keepers")
    assert ruda.valid_until == dt.date(2026, 12, 31)
    assert len(register.pins["P9"].reveal()) == 6
    assert "P10" not in register.pins
    assert register.cards["K5"].value == 45 << 16 | 777


def test_what_is_there_already_stays_as_it_is() -> None:
    register = small_register()
    text = 'name,groups,pin,card\nMara Quill,keepers,yes,"45,12000"\nTilo Quill,keepers,yes,\n'
    found = run(text, register)
    assert [p.kind for p in found.planned] == ["same", "changed"]
    assert found.planned[1].details == (("groups", "staff", "keepers"),)
    assert len(found.changes) == 1
    assert len(found.not_listed) == 6


def test_one_name_written_in_two_ways_is_one_person() -> None:
    register = small_register()
    text = 'name,groups,card\nRen\N{LATIN SMALL LETTER E WITH ACUTE} Ash,staff,"45,777"\n'
    register.extend([entry(*run(text, register).changes)])
    # Unicode's other form of the same letter, as some machines write it; and a space too many.
    again = text.replace("\N{LATIN SMALL LETTER E WITH ACUTE} ", "e\N{COMBINING ACUTE ACCENT}  ")
    assert again != text
    assert [p.kind for p in run(again, register).planned] == ["same"]
    assert "as in line 2" in wrong(again + again.partition("\n")[2], register)
    found = find_person(register, "rene\N{COMBINING ACUTE ACCENT}")
    assert found.id == "P9"


def test_leavers_are_those_who_are_not_listed() -> None:
    found = run("name\nMara Quill\n", leavers=True)
    assert sum(isinstance(x, c.PersonRemoved) for x in found.changes) == 7
    assert found.not_listed == ()


def test_pins_people_have_are_taken_over_with_a_remark() -> None:
    register = Register()
    found = run("name,pin\nMara,730264\nTilo,1111\nEnna,730265\nJuro,73026\n", register)
    register.extend([entry(*found.changes)])
    assert register.pins["P1"] == Secret("730264")
    assert len(found.remarks) == 3
    assert "Tilo's PIN is a weak one (repeat)" in found.remarks[0]
    assert "near another's" in found.remarks[1]
    assert "the beginning of another's" in found.remarks[2]


@pytest.mark.parametrize("pin", ["123456", "290296", "123123", "159632", "730264"])
def test_a_pin_is_taken_over_once(pin: str) -> None:
    """However weak it is: a controller that takes people by the PIN alone refuses it twice."""
    register = Register()
    text = wrong(f"name,pin\nMara,{pin}\nTilo,{pin}\nEnna,{pin}\n", register)
    assert [line.split(", expected")[0] for line in text.splitlines()] == [
        "people.csv:3: pin: found the PIN of line 2 (not shown)",
        "people.csv:4: pin: found the PIN of line 2 (not shown)",
    ]
    register.extend([entry(c.Person("P1", "Mara"), c.PinGiven("P1", Secret(pin)))])
    assert "somebody has or had" in wrong(f"name,pin\nTilo,{pin}\n", register)
    register.extend([entry(c.PersonRemoved("P1"))])
    assert "somebody has or had" in wrong(f"name,pin\nTilo,{pin}\n", register)


def test_no_code_is_shown_in_what_is_told() -> None:
    register = small_register()
    used = register.pins["P1"].reveal()
    text = wrong(f"name,pin\nRuda,{used}\nWenke,12x4\nLara,{used}9999\n", register)
    assert used not in text
    assert "12x4" not in text
    assert "a PIN that somebody has or had (not shown)" in text
    found = run("name,pin\nRuda,1111\n", register)
    assert "1111" not in repr(found)


def test_all_problems_at_once_with_their_lines() -> None:
    text = wrong(
        "name,groups,valid until,kind,card\n"
        "Ruda,stuff,,,\n"
        "Wenke,staff,31.12.2026,,\n"
        "Lara,staff,,guest,\n"
        'Mara,staff,,,"45,70000"\n'
        "Ruda,staff,,,\n"
        ",staff,,,\n"
        'Sina,staff,,,"45,12000"\n'
    )
    lines = text.splitlines()
    assert [int(line.split(":")[1]) for line in lines] == [2, 3, 4, 5, 6, 7, 8]
    assert "people.csv:2: groups: found stuff" in lines[0]
    assert "the nearest is staff" in lines[0]
    assert "a day as YYYY-MM-DD" in lines[1]
    assert "Ruda as in line 2" in lines[4]
    assert "which Mara Quill has" in lines[6]


def test_doubled_cards_and_lost_ones_are_refused() -> None:
    register = small_register()
    register.extend([entry(c.CardDropped("K1", lost=True))])
    text = wrong('name,card\nA,"45,9"\nB,"45,9"\nC,"45,12000"\n', register)
    assert "45,9 as in line 2" in text
    assert "lost once" in text


def test_the_card_that_opens_programming_is_refused() -> None:
    text = wrong('name,card\nA,"45,9"\nB,"123,62528"\n', small_register())
    assert "people.csv:3: card: found card 123,62528 opens programming at D3.controller" in text


def test_cards_of_another_facility_are_remarked() -> None:
    found = run('name,card\nA,"45,9"\nB,"45,8"\nC,"46,7"\n')
    assert found.remarks == ("line 4: card 46,7 has facility 46, the others 45",)


def test_two_of_one_name_need_an_id() -> None:
    register = small_register()
    register.extend([entry(c.Person("P40", "Mara Quill", ("staff",)))])
    assert "an id: P1, P40" in wrong("name,groups\nMara Quill,staff\n", register)
    found = run("id,name,groups\nP40,Mara Quill,keepers\n", register)
    assert found.changes == (c.Person("P40", "Mara Quill", ("keepers",)),)


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_every_csv_that_offices_write(ending: str, encoding: str, delimiter: str) -> None:
    text = ending.join([delimiter.join(["Name", "Note"]), delimiter.join(["Zoë", '"a b"'])])
    table = read_csv(text.encode(encoding), "p.csv")
    assert table.rows[0].cells == {"name": "Zoë", "note": "a b"}


def test_lines_are_counted_as_in_an_editor() -> None:
    table = read_csv(b'name,note\nA,"two\nlines"\n\nB,x\n', "p.csv")
    assert [r.line for r in table.rows] == [2, 5]


@pytest.mark.parametrize(
    "data", [b"", b"\n\n", b'name\n"open', b"a,a\n1,2\n", b"name\x00\n", b"\xff\xfe\x00"]
)
def test_what_is_no_list(data: bytes) -> None:
    with pytest.raises(CodesError, match=r"p\.csv"):
        read_csv(data, "p.csv")


def test_workbooks(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Name", "Valid until", "PIN", "Card"])
    sheet.append(["Ruda Stent", dt.datetime(2026, 12, 31), 730264, "45,777"])
    sheet.append([None, None, None, None])
    sheet.append(["Wenke Olm", None, None, None])
    path = tmp_path / "people.xlsx"
    book.save(path)
    table = read_table(path)
    assert [r.line for r in table.rows] == [2, 4]
    assert table.rows[0].cells == {
        "name": "Ruda Stent",
        "valid until": "2026-12-31",
        "pin": "730264",
        "card": "45,777",
    }


def test_broken_workbooks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "people.xlsx"
    for data in (b"PK\x03\x04nothing", b"", b"no zip"):
        path.write_bytes(data)
        with pytest.raises(CodesError, match=r"people\.xlsx"):
            read_table(path)
    monkeypatch.setattr(table_module, "LARGEST_UNPACKED", 1024 * 1024)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * (1024 * 1024 + 1))
    assert path.stat().st_size < 10_000
    with pytest.raises(CodesError, match="a larger workbook"):
        read_table(path)


def test_a_list_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CodesError, match="No such file"):
        read_table(tmp_path / "none.csv")


def test_a_list_without_names() -> None:
    assert "no such heading" in wrong("who\nMara\n")
