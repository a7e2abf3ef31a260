"""The pack: every part is there, what was chosen is there, the same bytes each time."""

from __future__ import annotations

import datetime
import math
import re

import pypdfium2
import pytest
from pypdfium2 import raw

from latchwork.papers.asked import COVER, SECTIONS, Paper, Stamp
from latchwork.papers.content.lists import sentence
from latchwork.papers.pack import pack_pdf, pack_sheets
from latchwork.words import say
from tests.cli.calling import ONE_DOOR
from tests.papers.made import DAY, demo_pack, demo_source, source_from, text_of

SIZES = {Paper.A4: (595.276, 841.89), Paper.LETTER: (612.0, 792.0)}
"""Points: ISO 216, ANSI/ASME Y14.1."""


def of(section: str, name: str = "draft") -> list[str]:
    source, version = demo_source(name)
    return text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), [section]))


def test_same_job_and_date_give_the_same_bytes() -> None:
    source, version = demo_source()
    assert pack_pdf(source, Paper.A4, Stamp(DAY, version)) == demo_pack()


def test_another_date_gives_another_file() -> None:
    source, version = demo_source()
    stamp = Stamp(datetime.date(2026, 3, 3), version)
    pages = text_of(pack_pdf(source, Paper.A4, stamp, [COVER]))
    assert "2026-03-03" in pages[0]


@pytest.mark.parametrize("paper", Paper)
def test_every_page_is_of_the_paper_and_says_where_it_belongs(paper: Paper) -> None:
    pages = text_of(demo_pack(paper))
    with pypdfium2.PdfDocument(demo_pack(paper)) as document:
        sizes = {page.get_size() for page in document}
    for size in sizes:
        assert sorted(size) == pytest.approx(sorted(SIZES[paper]), abs=0.1)
    _, version = demo_source()
    for number, text in enumerate(pages, start=1):
        assert f"{number} of {len(pages)}" in text
        assert "Ferrowmoor Bindery" in text
        assert f"2026-03-02 {version}" in text


def test_every_section_has_a_sheet_and_can_be_had_alone() -> None:
    source, _ = demo_source()
    whole = [sheet["id"] for sheet in pack_sheets(source, Paper.A4)]
    apart = [
        sheet["id"]
        for name in (COVER, *SECTIONS)
        for sheet in pack_sheets(source, Paper.A4, [name])
    ]
    assert whole == apart
    heads = {str(i).partition("-")[0] for i in whole}
    assert heads == {COVER, *SECTIONS}


def test_the_cover_shows_the_findings_worst_first_and_the_page_of_each_part() -> None:
    pages = text_of(demo_pack())
    found = demo_source()[0].check.findings
    places = [pages[0].index(line.title) for line in found[:14]]
    assert places == sorted(places)
    assert say("papers.cover.more", {"count": str(len(found) - 14)}) in pages[0]
    for name in SECTIONS:
        match = re.search(re.escape(say(f"papers.section.{name}")) + r" (\d+)", pages[0])
        assert match
        first = pack_sheets(demo_source()[0], Paper.A4, [name])[0]
        title = " ".join(str(first["short"]).split())
        assert title in pages[int(match[1]) - 1]


def test_remaining_findings_tell_why_and_what_to_do() -> None:
    text = " ".join(of("findings"))
    for line in demo_source()[0].check.findings:
        for said in (line.title, line.why, line.do, line.id):
            assert " ".join(said.split()) in text


def test_a_sound_job_says_that_nothing_was_found() -> None:
    source, version = demo_source("mended")
    assert not [f for f in source.check.findings if f.severity != "note"]
    assert (
        source.check.caution in text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), [COVER]))[0]
    )


def test_the_door_schedule_says_what_every_door_does() -> None:
    text = " ".join(of("doors"))
    for row in demo_source()[0].schedules.doors:
        assert sentence(row) in text
        assert row.lock in text


def test_connections_stand_with_their_other_ends() -> None:
    text = " ".join(of("connections"))
    for row in demo_source()[0].schedules.connections:
        assert row.to in text
        if row.letters:
            assert f"{row.letters} {row.core} {row.cable}" in text


def test_test_sheets_show_each_reading_with_its_band() -> None:
    source, _ = demo_source()
    pages = " ".join(of("tests"))
    for door in source.schedules.readings:
        for terminal in door.terminals:
            if terminal.terminal == terminal.against:
                continue
            for v in terminal.volts_v:
                low, value, high = (f"{round(x, 2) + 0.0:.2f}" for x in (v.low, v.value, v.high))
                assert (f"{low}–{high}" if low != high else value) in pages


def test_working_of_the_battery_multiplies_out() -> None:
    for supply in demo_source("mended")[0].schedules.supplies:
        b = supply.battery
        if b is not None and b.base_ah is not None:
            assert b.base_ah * b.ageing * b.margin * b.cold == pytest.approx(b.needed_ah)
            assert b.losses[0].hours == min(x.hours for x in b.losses)


def test_working_of_the_battery_multiplies_out_as_it_stands_there() -> None:
    """Figures off the sheet, by hand: 0.5 Ah × 1.25 × 1.10 × 1.29 stood above 0.8 Ah, and 5.727 Ah
    × 1.25 × 1.10 × 1.42, which is 11.182 Ah, above 11.155."""
    source, version = source_from(ONE_DOOR.replace("35 °C}", "35 °C, standby: 4 h}"))
    text = text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), ["power"]))[0]
    base = float(re.findall(r"discharge law ([0-9.]+) Ah", text)[0])
    factors = [float(each) for each in re.findall(r"× ([0-9.]+)", text)[:3]]
    needed = float(re.findall(r"Needed ([0-9.]+) Ah", text)[0])
    assert base * math.prod(factors) == pytest.approx(needed, rel=0.001)


def test_every_trial_and_way_out_has_words() -> None:
    source, version = source_from(ONE_DOOR)
    pages = text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version)))
    assert "Turn the lever. It works with power and without." in " ".join(pages)


def test_lids_name_what_each_output_feeds() -> None:
    text = " ".join(of("lids"))
    for row in demo_source()[0].schedules.doors:
        assert f"{row.id} {row.name}" in text


def test_an_emergency_release_that_does_not_free_is_not_told_as_a_way_to_try() -> None:
    draft = demo_source()[0].schedules
    (row,) = [t for t in draft.trials["D2"] if t.key == "release"]
    assert row.state == "locked"  # planted: it only signals the controller
    assert say("papers.expect.not freed", {"state": "locked"}) in " ".join(of("tests"))


def test_guides_of_doors_with_bad_findings_are_not_to_be_handed_out() -> None:
    source, _ = demo_source()
    pages = of("guides")
    for row, page in zip(source.schedules.doors, pages, strict=True):
        bad = row.worst in ("danger", "insecure", "fails")
        assert ("Not to be handed out yet" in page) == bad
    assert not any("Not to be handed out" in page for page in of("guides", "mended"))


def test_only_a_release_that_frees_by_itself_is_promised() -> None:
    promise = say("papers.guide.leave.release")
    assert [promise in page for page in of("guides")][1] is False  # planted: it only signals
    assert [promise in page for page in of("guides", "mended")][1] is True


def test_nothing_is_tried_that_the_kit_does_not_have() -> None:
    answer = demo_source()[0].schedules
    assert not any(t.key == "exit" for t in answer.trials["D1"])
    assert any(t.key == "exit" for t in answer.trials["D2"])
    assert not any(t.key == "release" for t in answer.trials["D1"])


def test_no_type_is_smaller_than_that_of_the_title_strip() -> None:
    """Bands stood in 5.5 pt below their figures; 6 pt is as small as type goes that is read after
    a photocopier (common practice, no source)."""
    source, version = source_from(ONE_DOOR)
    pdf = pack_pdf(source, Paper.A4, Stamp(DAY, version), ["tests"])
    with pypdfium2.PdfDocument(pdf) as document:
        text = document[0].get_textpage()
        band = re.search(r"\d\.\d\d–\d", text.get_text_range())
        assert band is not None
        assert raw.FPDFText_GetFontSize(text, band.start()) > 6.0
