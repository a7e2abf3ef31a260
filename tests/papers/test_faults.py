"""The sheet of single faults says what the run says, and tells nobody how a door is opened."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import msgspec
import pypdfium2

from latchwork.answers.faults_model import FaultsAnswer
from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.content.faults import faults_sheets
from latchwork.papers.content.source import FEW
from latchwork.papers.pack import strip
from latchwork.papers.typeset import typeset
from latchwork.words import say
from tests.faults.known import known
from tests.papers.made import DAY, demo_source, source_from
from tests.papers.test_pack import of

DANGERS = {
    "traps",
    "blocks the exit",
    "shuts out who escapes inward",
    "stays locked in a fire",
    "stops the emergency release",
    "frees the latch in a fire",
}


def answer() -> FaultsAnswer:
    found = demo_source()[0].faults
    assert found is not None
    return found


def sheet(told: FaultsAnswer) -> dict[str, Any]:
    (found,) = faults_sheets(replace(demo_source()[0], faults=told))
    return found


def test_each_door_has_its_numbers() -> None:
    """What no door has has no column."""
    text = " ".join(of("faults"))
    doors = answer().doors
    for door in doors:
        some = [n for effect, n in door.counts.items() if any(d.counts[effect] for d in doors)]
        assert f"{door.id} {door.name} {' '.join(str(n or '–') for n in some)}" in text
    assert "shuts out" not in text
    assert " ".join(say("caution").split()) in text


def test_a_door_that_was_not_tried_has_no_numbers() -> None:
    bare = msgspec.structs.replace(answer().doors[0], has_lock=False, counts={})
    gone = msgspec.structs.replace(bare, missing=("D1.lock",))
    made = sheet(msgspec.structs.replace(answer(), doors=(bare, gone)))
    assert [row["why"] for row in made["doors"]] == [
        "no lock that current moves",
        "lock found missing",
    ]
    assert made["none"] == "No fault was tried, as no door here has a lock that current moves."
    assert not any("28 situations" in told for told in made["foot"])
    assert any("nothing holds the door" in told for told in made["notes"])


def test_each_danger_is_named_or_counted_and_nothing_else_is() -> None:
    """A list of what opens a door would be one for whoever finds it (common practice, no
    source)."""
    parts = sheet(answer())["parts"]
    told = {part["title"].split()[0]: part["rows"] for part in parts}
    for door in answer().doors:
        rows = told.get(door.id, [])
        grave = [fault for fault in door.faults if fault.effect in DANGERS]
        assert sum(_faults_in(row["which"]) for row in rows) == len(grave)
        assert {row["does"] for row in rows} == {fault.effect for fault in grave}
        names = ", ".join(row["which"] for row in rows)
        assert all(f.text in names for f in grave if len(grave) <= FEW)
        besides = {e for fault in grave for e in fault.also} & DANGERS
        hows = "; ".join(row["how"] for row in rows)
        assert {e for e in DANGERS if re.search(f"also: [^;]*{e}", hows)} == besides
        assert not re.search("also: [^;]*(opens|stops)(,|;|$)", hows)
    pages = " ".join(of("faults"))
    assert not any(attack.text in pages for door in answer().doors for attack in door.attacks)


def _faults_in(text: str) -> int:
    named, _, more = text.partition(" and ")
    return named.count(", ") + 1 + int(more.removesuffix(" more") or 0)


def test_what_any_fitter_knows_to_trap_is_on_it() -> None:
    """The table of known faults, a magnet with an exit button and nothing else: common practice, no
    source."""
    rows = [row for row in known() if row.section.endswith("and nothing else")]
    traps = {row.fault for row in rows if row.effect == "traps"}
    assert traps
    (found,) = faults_sheets(source_from(rows[0].job, service=True)[0])
    told: Any = found["parts"]
    named = ", ".join(row["which"] for row in told[0]["rows"] if row["does"] == "traps")
    assert traps <= set(named.replace(" + ", " ").split(", "))


def test_no_line_of_the_sheet_begins_with_a_unit() -> None:
    """Names of every length before it, so that some line ends at each letter."""
    source, version = demo_source()
    names = ", ".join(f"D1.{'x' * n} joint 10 Ω" for n in range(1, 30))
    row = {"severity": "danger", "does": "traps", "which": names, "how": names}
    found = sheet(answer()) | {"parts": [{"title": "D1", "rows": [row]}]}
    found |= {"short": "Single faults", "id": "faults"}
    data = {**strip(source.index, Paper.A4, Stamp(DAY, version)), "sheets": [found]}
    with pypdfium2.PdfDocument(typeset("pack.typ", data, DAY)) as document:
        lines = document[0].get_textpage().get_text_range().splitlines()
    assert sum("10" in line for line in lines) >= 30
    assert not any(line.lstrip().startswith("Ω") for line in lines)


def test_without_a_danger_that_is_said() -> None:
    doors = tuple(msgspec.structs.replace(door, faults=()) for door in answer().doors)
    found = sheet(msgspec.structs.replace(answer(), doors=doors))
    assert found["none"].startswith("As the model shows it, no single fault traps")
    assert sheet(answer())["none"] == ""
