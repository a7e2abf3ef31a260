"""The answer of ``check`` holds together: figures, ids, and words filled in."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec
import pytest

from latchwork.answers.model import CheckAnswer
from latchwork.answers.opening import check_job
from latchwork.demo import write_demo
from latchwork.words import sources
from tests.cli.calling import job_in


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> CheckAnswer:
    return check_job(write_demo(tmp_path_factory.mktemp("demo"))[0])


def test_the_same_job_gives_the_same_answer(answer: CheckAnswer) -> None:
    again = check_job(Path(answer.file))
    assert msgspec.json.encode(again) == msgspec.json.encode(answer)


def test_ids_of_findings_are_short_and_each_its_own(answer: CheckAnswer) -> None:
    ids = [f.id for f in answer.findings]
    assert len(set(ids)) == len(ids) > 20
    assert all(re.fullmatch(r"F[0-9A-F]{5}", each) for each in ids)


def test_texts_are_filled_in_and_name_their_subject(answer: CheckAnswer) -> None:
    for finding in answer.findings:
        for text in (finding.title, finding.why, finding.do, finding.source_text):
            assert text
            assert not re.search(r"[{}]|\bnan\b|\bNone\b", text), text
        assert finding.title.startswith(finding.subject)
        assert finding.source in sources()


US = """\
latchwork: 1
site: {rule set: US model codes, units: US}
supplies: {S1: {part: supply 24 V}}
doors:
  D1:
    power lost: unlocks
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller, reader outside
    reader: reader
    exit: exit button
    release: release, double pole
    release height: 30 in
    release distance: 8 ft
    runs: {power: 30 ft of 2 x 16 AWG, reader: 600 ft of 6 x 22 AWG}
"""


def test_a_site_in_feet_reads_its_findings_in_feet(tmp_path: Path) -> None:
    """40 to 48 in and 5 ft are the codes' own figures (IBC and NFPA 101, from memory); nobody
    measures 40 in as 3.3 ft. A cable of 600 ft stays in feet."""
    titles = {f.rule: f.title for f in check_job(job_in(tmp_path, US)).findings}
    assert titles["release-height"].endswith(
        "30.0 in above the floor; the rule set asks at least 40.0 in"
    )
    assert titles["release-distance"].endswith(
        "96.0 in from the door; the rule set asks at most 60.0 in"
    )
    assert "600.0 ft for a reader" in titles["reader-cable"]


def test_the_worst_finding_of_a_door_marks_its_line(answer: CheckAnswer) -> None:
    order = ("danger", "insecure", "fails", "weak", "note")
    for door in answer.doors:
        own = [f.severity for f in answer.findings if f.door == door.id]
        assert door.worst == min(own, key=order.index, default="")


def test_most_current_is_no_less_than_any_load_on_mains(answer: CheckAnswer) -> None:
    for supply in answer.supplies:
        assert supply.most_a >= max(supply.loads_a.values()) - 1e-9
        if supply.margin is not None and supply.limit_a is not None:
            total = supply.most_a + supply.charge_a
            assert supply.margin == pytest.approx(supply.limit_a / total)


def test_the_least_volts_are_never_above_those_of_an_ordinary_day(answer: CheckAnswer) -> None:
    for door in answer.doors:
        for lock in door.locks:
            if lock.least_v is not None:
                assert 0.5 < lock.least_v < 30.0
                assert lock.least_when
                assert lock.does in ("pick up", "hold")
