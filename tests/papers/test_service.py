"""The service plan on paper says what the run of every single fault says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import msgspec
import pypdfium2
import pytest
from msgspec.structs import replace as put

from latchwork.answers.faults import faults_job
from latchwork.answers.service import service_plan
from latchwork.answers.service_batteries import battery_do, battery_finds, battery_notes
from latchwork.behaviour import Mode, Power
from latchwork.cli.service_page import service_expects
from latchwork.demo import write_demo
from latchwork.faults import Ask, faults
from latchwork.papers.asked import SERVICE, Paper, Stamp
from latchwork.papers.pack import pack_pdf, pack_sheets, strip
from latchwork.papers.typeset import typeset
from latchwork.words import say
from tests.cli.calling import call, job_in
from tests.papers.made import DAY, demo_source, plan_of, source_from, text_of, with_plan
from tests.papers.test_pack import of
from tests.truth.solved import wired

ONE_LOCK = """
latchwork: 1
supplies: {S1: {part: supply 12 V}}
doors:
  D1: {supply: S1, lock: strike 12 V fail-secure, controller: controller, out by: lever}
"""


def _stage(situation: str) -> tuple[int, int]:
    """A supply is switched off once for all doors, after what needs no switching."""
    power, mode, _ = situation.split("/")
    return list(Power).index(Power(power)), list(Mode).index(Mode(mode))


def test_the_sheet_says_what_the_plan_says_in_its_order() -> None:
    plan = plan_of(demo_source()[0])
    assert plan
    text, at = " ".join(of("service")), 0
    by_walk = sorted(plan, key=lambda n: (n.every_months, *_stage(n.situation), n.supply, n.door))
    for line in by_walk:
        told = [line.door, *line.do.split(), *line.told[0].split()]
        if line.lock:
            told += [line.lock]
        if line.terminal:
            nothing = line.nothing_v is not None
            shown = "nothing less than 0.50 V" if nothing else f"{line.expected_v:.2f}"
            told += [line.terminal, *f"against {line.against} {shown}".split()]
        for piece in told:
            at = text.index(piece, at) + len(piece)


def test_page_and_sheet_say_alike_what_reads_nothing() -> None:
    few = [line for line in plan_of(demo_source()[0]) if line.nothing_v is not None]
    assert few
    for line in few:
        assert max(abs(line.low_v), abs(line.high_v)) < 0.1
        assert service_expects(line).endswith("reads nothing (less than 0.50 V)")


def test_a_band_whose_ends_read_alike_is_none() -> None:
    """A regulated 5 V of a controller moves by microvolts: no meter shows that."""
    line = next(n for n in plan_of(demo_source()[0]) if n.terminal and n.nothing_v is None)
    narrow = msgspec.structs.replace(line, expected_v=5.0, low_v=5.00001, high_v=5.00002)
    assert service_expects(narrow).endswith("reads 5.00 V")
    wide = msgspec.structs.replace(narrow, high_v=5.01)
    assert service_expects(wide).endswith("reads 5.00 V (5.00 V to 5.01 V)")


def test_every_fault_is_named_or_counted() -> None:
    plan = plan_of(demo_source()[0])
    text = " ".join(of("service"))
    for line in plan:
        count = len(line.told)
        rests = ("", *(f"and {rest} more" for rest in range(1, count)))
        assert any(
            said in text and all(name in text for name in line.told[: count - rest])
            for rest, said in enumerate(rests)
        )


def test_it_is_the_plan_that_the_fault_run_gives(tmp_path: Path) -> None:
    draft, _ = write_demo(tmp_path)
    answer, _ = faults_job(draft, ask=Ask(attacks=False, poles=True))
    plan = plan_of(demo_source()[0])
    assert plan == tuple(line for door in answer.doors for line in door.service)


def test_what_no_meter_shows_is_to_be_looked_at() -> None:
    """A diode blocks at rest (common practice, no source): with it gone all volts are the same. Of
    the sheet nobody could tell that its tests do not find that."""
    answer = demo_source()[0].faults
    assert answer is not None
    told = " ".join(of("service")).partition("No meter shows these, look at the part itself: ")[2]
    assert answer.unseen
    assert all(name in told for name in answer.unseen)


def test_without_a_run_there_is_no_sheet() -> None:
    source, _ = demo_source("mended")
    assert source.faults is None
    assert SERVICE not in {str(s["id"]).partition("-")[0] for s in pack_sheets(source, Paper.A4)}


def test_a_plan_without_tests_says_so() -> None:
    source, version = source_from(ONE_LOCK, service=True)
    assert source.faults is not None
    doors = tuple(put(door, service=(), untried=()) for door in source.faults.doors)
    nothing = replace(source, faults=put(source.faults, doors=doors, batteries=()))
    text = text_of(pack_pdf(nothing, Paper.A4, Stamp(DAY, version), [SERVICE]))[0]
    assert say("papers.service.none") in text
    assert "tell whoever uses the door" not in text


@pytest.mark.parametrize("asked", [("--only", "service"), ("--only", "cover", "--service")])
def test_it_comes_where_it_is_asked_for(tmp_path: Path, asked: tuple[str, ...]) -> None:
    out = tmp_path / "x.pdf"
    result = call("papers", job_in(tmp_path / "job", ONE_LOCK), *asked, "--out", out)
    assert result.exit_code == 0, result.output
    assert say("papers.about.service") in " ".join(text_of(out.read_bytes()))


def printed(its: Mapping[str, object]) -> bytes:
    """A sheet that holds no more than is said of it."""
    source, version = demo_source("mended")
    sheet = {"kind": "service", "title": "Service plan", "short": "Service plan", "id": "service"}
    sheet |= {"about": "About.", "foot": "Foot.", "before": "", "none": "None."}
    data = {
        **strip(source.index, Paper.A4, Stamp(DAY, version)),
        "sheets": [{**sheet, "heads": [""] * 7, "beyond": [], "parts": [], **its}],
    }
    return typeset("pack.typ", data, DAY)


def test_each_note_above_the_tests_begins_with_a_mark() -> None:
    """Between notes of several lines there was no more room than between the lines."""
    (text,) = text_of(printed({"beyond": ["Open diodes. " * 30, "Flat battery."]}))
    assert text.count("– Open diodes.") == text.count("– Flat battery.") == 1


def test_no_line_of_a_test_begins_with_a_unit() -> None:
    """Names of every length before it, so that some line ends at each letter."""
    names = [f"D1.{'x' * n} joint 10 Ω" for n in range(1, 30)]
    row = dict.fromkeys(("door", "do", "lock", "state", "terminal", "volts", "band"), "D1")
    row |= {"finds": ", ".join(names), "against": ""}
    with pypdfium2.PdfDocument(printed({"parts": [{"title": "Now", "rows": [row]}]})) as document:
        lines = document[0].get_textpage().get_text_range().splitlines()
    assert sum("10" in line for line in lines) >= 15
    assert not any(line.lstrip().startswith("Ω") for line in lines)


def test_what_is_beyond_the_model_stands_clear_of_what_to_see_to_first() -> None:
    """The one stood across the last line of the other."""
    sheet = {"before": "Tell them. " * 40, "beyond": ["Xylem: beyond."]}
    with pypdfium2.PdfDocument(printed(sheet)) as document:
        page = document[0].get_textpage()
        text = page.get_text_range()
        _, above, _, _ = page.get_charbox(text.rindex("Tell"))
        _, _, _, top = page.get_charbox(text.index("Xylem"))
    assert above > top


def test_of_two_locks_one_is_looked_at_by_itself() -> None:
    """Common practice, no source: whoever pulls the door finds it locked by the other one, and a
    magnet with its coil open passes."""
    job = ONE_LOCK.replace("lock: strike 12 V fail-secure", "lock: strike 12 V fail-secure%s")
    for second in ("", ", second lock: magnet 12 V"):
        wiring = wired((job % second).replace("supply 12 V}", "supply 12 V, battery: 12 V 7 Ah}"))
        lines = service_plan(wiring, faults(wiring, ask=Ask(attacks=False, processes=1)))
        some = [line for line in lines if line.lock]
        assert some
        assert all(line.by_itself is bool(second) for line in some)
        assert all((" by itself is " in service_expects(n)) is bool(second) for n in some)
    source, version = source_from(job % second, service=True)
    sheet = text_of(pack_pdf(with_plan(source, lines), Paper.A4, Stamp(DAY, version), [SERVICE]))
    assert "By itself: the other lock may hold the door too." in " ".join(sheet)


def test_the_sheet_tells_of_each_battery_what_the_plan_does() -> None:
    answer = demo_source()[0].faults
    assert answer is not None
    assert answer.batteries
    text = " ".join(" ".join(of("service")).split())
    for line in answer.batteries:
        assert line.minutes
        for told in (battery_do(line), battery_finds(line), *battery_notes(line)):
            assert " ".join(told.split()) in text
        assert f"{line.new_v:.2f} {line.least_v:.2f} or more" in text
