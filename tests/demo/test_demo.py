"""Every planted mistake of the draft is found by the rule named; the mended job has none."""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.answers.model import CheckAnswer
from latchwork.answers.opening import check_job
from latchwork.demo import DRAFT, MENDED, NotOurs, Planted, planted, write_demo
from tests.cli.calling import call


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return write_demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture(scope="module")
def draft(jobs: tuple[Path, Path]) -> CheckAnswer:
    return check_job(jobs[0])


@pytest.fixture(scope="module")
def mended(jobs: tuple[Path, Path]) -> CheckAnswer:
    return check_job(jobs[1])


@pytest.mark.parametrize("mistake", planted(), ids=lambda mistake: mistake.id)
def test_a_planted_mistake_is_found_where_it_is(draft: CheckAnswer, mistake: Planted) -> None:
    assert (mistake.rule, mistake.subject) in {(f.rule, f.subject) for f in draft.findings}


def test_there_are_fourteen_at_least_of_every_kind() -> None:
    every = planted()
    assert len(every) == len({m.id for m in every}) >= 14
    assert {m.kind for m in every} == {"electrical", "people", "security", "fit"}
    assert {m.subject.partition(".")[0] for m in every} >= {f"D{n}" for n in range(1, 9)}


def test_the_mended_job_has_nothing_at_weak_or_worse(mended: CheckAnswer) -> None:
    assert [f.title for f in mended.findings if f.severity != "note"] == []
    assert mended.unsolved == mended.chattering == 0


def test_eight_doors_of_different_kinds_on_three_supplies(mended: CheckAnswer) -> None:
    assert len(mended.doors) == 8
    assert len(mended.supplies) == 3
    assert len({lock.part for door in mended.doors for lock in door.locks}) == 8


def test_the_archive_of_the_draft_has_a_release_that_only_signals(draft: CheckAnswer) -> None:
    (found,) = [f for f in draft.findings if f.rule == "release-signals"]
    assert (found.door, found.severity) == ("D2", "danger")
    assert "magnet" in next(d.locks[0].part for d in draft.doors if d.id == "D2")


def test_the_command_writes_checks_and_ends_well(tmp_path: Path) -> None:
    result = call("demo", tmp_path / "d")
    assert result.exit_code == 0, result.output
    assert "0 in the mended job." in result.output
    for name in (DRAFT, MENDED):
        assert {p.name for p in (tmp_path / "d" / name).iterdir()} >= {"job.yaml", "parts.lock"}
    assert call("demo", tmp_path / "d").exit_code == 0


def test_a_changed_file_is_not_written_over(tmp_path: Path) -> None:
    draft_job, _ = write_demo(tmp_path)
    file = draft_job / "job.yaml"
    file.write_text(file.read_text(encoding="utf-8") + "# mine\n", encoding="utf-8")
    with pytest.raises(NotOurs):
        write_demo(tmp_path)
    result = call("demo", tmp_path)
    assert result.exit_code == 2
    assert str(file) in result.stderr
    assert file.read_text(encoding="utf-8").endswith("# mine\n")


def test_a_demo_of_an_earlier_release_is_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("latchwork.demo.writing._text", lambda name: b"latchwork: 1\n")
    write_demo(tmp_path)
    monkeypatch.undo()
    draft_job, _ = write_demo(tmp_path)
    assert "Ferrowmoor" in (draft_job / "job.yaml").read_text(encoding="utf-8")


def test_files_that_were_there_before_stay(tmp_path: Path) -> None:
    foreign = tmp_path / MENDED / "job.yaml"
    foreign.parent.mkdir()
    foreign.write_text("latchwork: 1\n", encoding="utf-8")
    with pytest.raises(NotOurs):
        write_demo(tmp_path)
    assert foreign.read_text(encoding="utf-8") == "latchwork: 1\n"
    assert not (tmp_path / DRAFT).exists()
