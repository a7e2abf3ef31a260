"""Junk thrown at every reader: a clear refusal or a reading, never a traceback, never a hang."""

from __future__ import annotations

import contextlib
import csv
import hashlib
import io
import zipfile
from importlib import resources
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from latchwork.codes.access.times import parse_times, show_times
from latchwork.codes.cards.batch import read_printed
from latchwork.codes.cards.describe import read_layouts, shipped_layouts
from latchwork.codes.cards.guess import Sample
from latchwork.codes.cards.infer import infer
from latchwork.codes.cards.printing import readings
from latchwork.codes.cards.received import read_received
from latchwork.codes.errors import CodesError
from latchwork.codes.imports.people import Options, preview
from latchwork.codes.imports.table import read_csv, read_table
from latchwork.codes.keypad.memory import factory_content
from latchwork.codes.keypad.read import read_grammar
from latchwork.codes.keypad.shelf import shipped_grammars
from latchwork.codes.keypad.simulator import Controller, Press
from latchwork.codes.store import container, holders
from latchwork.codes.store.sealed import open_with_key
from tests.codes.sites import small_register
from tests.codes.stores import new_store

QUICK = settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
DATA = resources.files("latchwork.codes") / "data"
GRAMMAR = (DATA / "grammars" / "case-button.yaml").read_text(encoding="utf-8")
LAYOUTS = (DATA / "layouts.yaml").read_text(encoding="utf-8")


@st.composite
def cut(draw: st.DrawFn, text: str) -> str:
    """A text with pieces taken out, doubled, moved or replaced."""
    for _ in range(draw(st.integers(1, 4))):
        a, b = sorted((draw(st.integers(0, len(text))), draw(st.integers(0, len(text)))))
        b = min(b, a + 60)
        piece = draw(
            st.one_of(
                st.just(""),
                st.just(text[a:b] * 2),
                st.text(max_size=12),
                st.sampled_from(
                    ["{", "}", "[", ": ", "\n", "{place}", "&x ", "- ", "9" * 30, "\t"]
                ),
            )
        )
        text = text[:a] + piece + text[b:]
    return text


def refused(call: object, *arguments: object) -> object:
    """The reading, or None where it was refused with a message."""
    told = ""
    try:
        return call(*arguments)  # type: ignore[operator]  # whatever is thrown at, it is callable
    except CodesError as error:
        told = str(error)
    assert told.strip()
    return None


@QUICK
@given(st.binary(max_size=400))
def test_the_container_and_any_bytes(data: bytes) -> None:
    refused(container.take_apart, data)
    refused(container.take_apart, container.MAGIC + data)


@QUICK
@given(st.binary(max_size=300), st.binary(max_size=64))
def test_the_container_and_a_head_with_the_right_sum(head: bytes, body: bytes) -> None:
    data = container.MAGIC + len(head).to_bytes(4, "big") + len(body).to_bytes(8, "big")
    data += head + body
    refused(container.take_apart, data + hashlib.sha256(data).digest())


@QUICK
@given(st.data())
def test_a_store_with_anything_changed(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Bytes changed, sums put right or not: refused, and never opened in part."""
    folder = FOLDERS.get("store")
    if folder is None:
        folder = tmp_path_factory.mktemp("store")
        FOLDERS["store"] = folder
        KEYS["store"] = new_store(folder).key()
        FILES["store"] = (folder / "codes.sealed").read_bytes()
        (folder / "codes.seen").unlink()
    whole = bytearray(FILES["store"])
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(whole) - 1))
        whole[at] ^= data.draw(st.integers(1, 255))
    changed = bytes(whole[: data.draw(st.integers(1, len(whole)))])
    if data.draw(st.booleans()):
        changed = changed[:-32] + hashlib.sha256(changed[:-32]).digest()
    (folder / "codes.sealed").write_bytes(changed)
    if changed != FILES["store"]:
        assert refused(open_with_key, folder, KEYS["store"]) is None


FOLDERS: dict[str, Path] = {}
KEYS: dict[str, holders.HolderKey] = {}
FILES: dict[str, bytes] = {}


@QUICK
@given(st.one_of(st.binary(max_size=300), cut(GRAMMAR).map(str.encode)))
def test_grammars(data: bytes) -> None:
    grammar = refused(read_grammar, data, "g.yaml")
    if grammar is None:
        return
    # What is accepted can be keyed: no state and no key is left undefined.
    controller = Controller(grammar, factory_content(grammar))  # type: ignore[arg-type]  # as read
    for key in ("card", *grammar.keys, *grammar.keys):  # type: ignore[attr-defined]  # as read
        controller.press(Press("card", "1") if key == "card" else Press("key", key))


@QUICK
@given(st.one_of(st.binary(max_size=300), cut(LAYOUTS).map(str.encode)))
def test_layouts(data: bytes) -> None:
    refused(read_layouts, data, "l.yaml")


@QUICK
@given(st.text(max_size=90), st.sampled_from(sorted(shipped_layouts())))
def test_printed_and_received_numbers(text: str, name: str) -> None:
    refused(read_received, text)
    refused(read_printed, shipped_layouts()[name], text)
    readings(text)


digits = st.text("0123456789 ,:xABCDEFabcdef-/", max_size=24)


@QUICK
@given(st.lists(st.tuples(digits, digits), min_size=2, max_size=4))
def test_working_out_layouts(pairs: list[tuple[str, str]]) -> None:
    samples = []
    for printed, received in pairs:
        found = refused(read_received, received)
        if found is not None:
            samples.append(Sample(printed, found))  # type: ignore[arg-type]  # whatever
    if samples:
        refused(infer, samples, shipped_layouts())


cells = st.one_of(
    st.text(max_size=20),
    st.sampled_from(["Mara Quill", "staff", "yes", "45,12000", "2026-12-31", "P1", "=1+1", "١٢٣٤"]),
)
headings = st.lists(
    st.sampled_from(["name", "Groups", "pin", "card", "id", "valid until", "kind", "x", "note"]),
    min_size=1,
    max_size=8,
)


@QUICK
@given(st.binary(max_size=200))
def test_lists_of_any_bytes(data: bytes) -> None:
    refused(read_csv, data, "p.csv")
    refused(read_csv, b"name,pin\n" + data, "p.csv")


@QUICK
@given(headings, st.lists(st.lists(cells, max_size=8), max_size=6))
def test_lists_of_people(heads: list[str], rows: list[list[str]]) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([heads, *rows])
    options = Options(shipped_layouts()["26-bit"])

    def run() -> object:
        return preview(read_csv(out.getvalue().encode(), "p.csv"), REGISTER, options)

    refused(run)


REGISTER = small_register()


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_workbooks(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    if "book" not in FILES:
        book = openpyxl.Workbook()
        sheet = book.active
        assert sheet is not None
        sheet.append(["Name", "PIN"])
        sheet.append(["Mara", 4092])
        out = io.BytesIO()
        book.save(out)
        FILES["book"] = out.getvalue()
        FOLDERS["book"] = tmp_path_factory.mktemp("book")
    parts: dict[str, bytes] = {}
    with zipfile.ZipFile(io.BytesIO(FILES["book"])) as archive:
        for name in archive.namelist():
            parts[name] = archive.read(name)
    name = data.draw(st.sampled_from(sorted(parts)))
    text = parts[name].decode()
    parts[name] = data.draw(cut(text)).encode()
    path = FOLDERS["book"] / "p.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        for each, content in parts.items():
            archive.writestr(each, content)
    refused(read_table, path)


@QUICK
@given(st.text("monfriday 0123456789:-,holidays", max_size=60))
def test_weekly_times(text: str) -> None:
    with contextlib.suppress(CodesError):
        times = parse_times("t", text)
        assert parse_times("t", show_times(times)) == times


@QUICK
@given(st.sampled_from(sorted(shipped_grammars())), st.data())
def test_any_keys_at_any_controller(name: str, data: st.DataObject) -> None:
    """Whatever is keyed, the controller answers, and its indexes agree with its users."""
    grammar = shipped_grammars()[name]
    controller = Controller(grammar, factory_content(grammar))
    opening = {"letter pairs": "DA70707070", "menus": "✓3690✓", "case button": ""}[name]
    for key in opening:
        controller.press(Press("key", key))
    if name == "letter pairs":
        controller.press(Press("key", "OK"))
    given_presses = st.one_of(
        st.sampled_from([Press("key", k) for k in (*grammar.keys, "case-button")]),
        st.sampled_from([Press("card", n) for n in ("0", "7", "8")]),
        st.sampled_from([Press("finger", "1"), Press("wait", "5"), Press("wait", "999")]),
    )
    for press in data.draw(st.lists(given_presses, max_size=60)):
        controller.press(press)
    memory = controller.memory
    assert {p: u.pin for p, u in memory.users.items() if u.pin} == {
        place: pin for pin, place in memory.pins.items()
    }
    assert {c: p for p, u in memory.users.items() for c in u.cards} == memory.cards
