"""The schedule of connections of a site that is not as planned. Rows are written down by hand."""

from __future__ import annotations

from functools import cache

import msgspec

from latchwork.answers.faults_words import fault_text
from latchwork.answers.schedules.model import ConnectionRow
from latchwork.faults import Fault, FaultKind
from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.content.power import Line, power_sheets
from latchwork.papers.pack import pack_pdf
from latchwork.papers.tables import tables
from tests.papers.made import DAY, DEPOT, source_from, text_of

FOUND = """    found:
      - {moved: exit brown, from: controller.GND, to: controller.TAMPER}
      - {short: [exit green, exit yellow], at: 2 m from controller}
      - {added: lead, from: controller.GND, to: lock.-}
      - {part: exit, state: missing}
  D2:
"""
AS_FOUND = DEPOT.replace("  D2:\n", FOUND) + "    found: [{part: J1, resistance: 2.2 ohm}]\n"


MISSING = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}}
doors:
  D1:
    lock: strike 24 V fail-secure
    controller: controller
    exit: exit button
    supply: S1 out 1
    runs: {power: 9 m of 2 x 1.0 mm², exit: 9 m of 4 x 0.22 mm²}
    found: FOUND
"""


@cache
def rows() -> tuple[ConnectionRow, ...]:
    """The connections of the depot."""
    return source_from(AS_FOUND)[0].schedules.connections


def at(device: str, terminal: str) -> list[ConnectionRow]:
    """What is joined to a terminal."""
    return [r for r in rows() if (r.device, r.terminal) == (device, terminal)]


@cache
def sheet() -> str:
    """The sheet of connections."""
    source, version = source_from(AS_FOUND)
    pdf = pack_pdf(source, Paper.A4, Stamp(DAY, version), ["connections"])
    return " ".join(text_of(pdf))


def test_spare_cores_that_are_shorted_are_told_as_that() -> None:
    source, version = source_from(AS_FOUND)
    (row,) = (r for r in source.schedules.cables if r.id == "D1.exit")
    assert (row.used, row.spare) == (("white", "brown"), ())
    assert (row.faulty, row.missing) == (("green", "yellow"), ())
    sheet = " ".join(text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), ["cables"])))
    assert "2/0 2 faulty" in sheet
    (table,) = (t for t in tables(source.schedules) if t.key == "cables")
    assert "green (faulty), yellow (faulty)" in {c for row in table.rows for c in row}


def test_a_moved_core_stands_where_it_is_with_its_plan() -> None:
    (row,) = at("D1.controller", "TAMPER")
    assert (row.changed, row.to) == (True, "D1.exit.COM")
    assert row.planned == ("D1.controller.GND", "D1.exit.COM")
    assert "differs from the plan: D1.controller.GND to D1.exit.COM" in sheet()


def test_an_added_lead_is_marked() -> None:
    assert [r.changed for r in at("D1.controller", "GND")] == [True]


def test_ends_of_a_cable_are_not_those_of_the_device_it_is_called_by() -> None:
    """Spare cores of the cable D1.exit that touch: none of them is on the button D1.exit."""
    at_button = [r.core for r in rows() if r.device == "D1.exit" and r.part == "exit button"]
    assert at_button == ["brown", "white"]
    _, _, button = sheet().partition("D1.exit exit button; not there")
    assert button


def test_a_missing_core_is_told_at_both_its_ends() -> None:
    """The plan has brown from GND to the button; nothing is on the button's COM without it."""
    lost = MISSING.replace("FOUND", "[{missing: exit brown}]")
    found = [r for r in source_from(lost)[0].schedules.connections if r.wire == "missing"]
    assert {(f"{r.device}.{r.terminal}", r.core, r.to, r.changed) for r in found} == {
        ("D1.controller.GND", "brown", "D1.exit.COM", True),
        ("D1.exit.COM", "brown", "D1.controller.GND", True),
    }
    whole = source_from(MISSING.replace("FOUND", "[]"))[0].schedules.connections
    assert not [r for r in whole if r.wire == "missing" or r.changed]


def test_what_is_no_terminal_is_told_in_words() -> None:
    """Names of nodes, such as "D1.exit.green~1" or "trunk.blue@2", are on no sheet."""
    assert not [word for word in sheet().split() if "~" in word or "@" in word]
    assert "open end" in sheet()


def test_a_joint_is_not_joined_to_itself() -> None:
    """Its own resistance is no wire."""
    assert [(r.wire, r.to) for r in rows() if r.device == "D2.J1"] == [
        ("core", "D2.controller.NO"),
        ("lead", "D2.lock.+"),
    ]


def test_letters_of_two_colours_stand_on_one_line() -> None:
    """Broken at the stroke they run into the row below."""
    assert "WH/BU blue-white" in sheet()


def test_the_far_side_of_a_joint_is_called_so_on_every_sheet() -> None:
    """J1 has 2.2 Ω between its two sides: each is read, and each may come loose."""
    source, version = source_from(AS_FOUND)
    told = " ".join(text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), ["tests"])))
    assert "~" not in told
    assert "far side" in told
    fault = Fault("D2.J1~ open", FaultKind.OPEN, ("D2.J1~ to D2.lock.+",), ())
    assert fault_text(fault) == "D2.J1 (far side) to D2.lock.+ open"


def test_a_lock_that_is_not_there_is_told_as_that() -> None:
    text = MISSING.replace("FOUND", "[{part: lock, state: missing}]")
    source, version = source_from(text)
    (row,) = source.schedules.doors
    assert row.lock == "strike 24 V fail-secure (not there)"
    sheet = " ".join(text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), ["tests"])))
    assert "Lock: strike 24 V fail-secure (not there)" in sheet
    assert "by the right one" not in sheet, "nothing is unlocked that is not there"
    assert "no lock that current moves" in sheet


DEAD = """
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah}}
found: [{part: S1, state: STATE}]
doors:
  D1:
    lock: strike 24 V fail-secure
    controller: controller
    supply: S1
    runs: {power: 9 m of 2 x 1.0 mm²}
"""


def test_a_dead_battery_holds_no_hours_on_paper() -> None:
    """It gives none (common practice, no source)."""
    source, _ = source_from(DEAD.replace("STATE", "battery dead"))
    (sheet,) = power_sheets(source)
    assert (sheet["battery"], sheet["losses"]) == ([], [])
    assert str(sheet["no_battery"]).endswith("battery dead.")


def test_a_dead_supply_has_no_limit_to_reckon_with() -> None:
    """It gives and charges nothing of its own (common practice, no source)."""
    source, _ = source_from(DEAD.replace("STATE", "supply dead"))
    (sheet,) = power_sheets(source)
    lines = msgspec.convert([sheet["supply"], sheet["battery"]], list[list[Line]])
    shown = [str(line["text"]) for part in lines for line in part]
    assert not [text for text in shown if "imit" in text or "Recharge" in text]
    assert sum(text.startswith("Found dead") for text in shown) == 1
    (table,) = (t for t in tables(source.schedules) if t.key == "supplies")
    cells = dict(zip([c.key for c in table.columns], table.rows[0], strict=True))
    assert [cells[key] for key in ("volts", "limit", "most", "margin")] == [None] * 4
