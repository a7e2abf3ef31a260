"""A door that does something beyond the model: its sheets say so, and rest nothing on it."""

from __future__ import annotations

from pathlib import Path

from latchwork.answers.faults import faults_job
from latchwork.faults import Ask
from latchwork.papers.asked import SERVICE, Paper, Stamp
from latchwork.papers.pack import pack_pdf
from latchwork.papers.source import source_of
from tests.answers.test_beyond import KEEPS_COUNT, SITE
from tests.papers.made import DAY, source_from, text_of, with_plan


def page_of(section: str, title: str) -> str:
    source, version = source_from(SITE)
    pages = text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), [section]))
    return next(page for page in pages if page.startswith(title))


def test_the_test_sheet_says_so_and_gives_no_step_that_rests_on_it() -> None:
    sheet = page_of("tests", "Tests D1")
    assert "Delayed egress is beyond the model" in sheet
    assert "Press the exit button" not in sheet
    assert "out by" not in sheet
    ordinary = page_of("tests", "Tests D4")
    assert "beyond" not in ordinary
    assert "Press the exit button" in ordinary


def test_the_guide_is_not_to_be_handed_out_and_sends_nobody_through() -> None:
    sheet = page_of("guides", "Your door: D1")
    assert "Not to be handed out as it is" in sheet
    assert "Delayed egress is beyond the model" in sheet
    for told in ("Press the exit button", "Leave by it", "You leave", "You still get out"):
        assert told not in sheet
    assert "Show your card" in sheet
    assert "Show your card" not in page_of("guides", "Your door: D3")
    assert "Leave by it" in page_of("guides", "Your door: D3")


def test_the_schedule_and_the_emergency_sheet_say_so() -> None:
    for section, title in (("doors", "Door schedule"), ("emergency", "When something")):
        sheet = page_of(section, title)
        assert "Delayed egress is beyond the model" in sheet
        assert "Interlock is beyond the model" in sheet
    assert "D1 Ward beyond the model" in page_of("emergency", "When something")


def test_the_service_sheet_says_so() -> None:
    source, version = source_from(SITE, service=True)
    made = pack_pdf(source, Paper.A4, Stamp(DAY, version), [SERVICE])
    assert "D1: Delayed egress is beyond the model" in text_of(made)[0]


def test_the_service_sheet_names_what_is_in_no_test_as_the_page_does(tmp_path: Path) -> None:
    """A dead battery shows at this door by a card alone, which gets no answer."""
    (tmp_path / "job.yaml").write_text(KEEPS_COUNT, encoding="utf-8")
    source, version = source_of(tmp_path, service=lambda *_: None)
    (door,) = faults_job(tmp_path, ask=Ask(attacks=False))[0].doors
    assert source.faults is not None
    assert [d.untried for d in source.faults.doors] == [door.untried]
    sheet = " ".join(text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), [SERVICE])))
    named = sheet.partition("In no test, as they show only in that, or not surely: ")[2]
    assert all(text in named for text in door.untried)
    assert "S1 battery dead" in door.untried
    # Where all that is silent is in no test, the sheet does not say that nothing is.
    bare = pack_pdf(with_plan(source, ()), Paper.A4, Stamp(DAY, version), [SERVICE])
    assert "No single fault stays unnoticed" not in text_of(bare)[0]


def test_a_door_without_anything_has_a_line_and_no_guide() -> None:
    assert "Nothing electrical is fitted" in page_of("doors", "Door schedule")
    assert "D5 Nothing nothing electrical" in page_of("emergency", "When something")
    source, version = source_from(SITE)
    guides = text_of(pack_pdf(source, Paper.A4, Stamp(DAY, version), ["guides"]))
    assert len(guides) == 4
