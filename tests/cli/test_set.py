"""Values set, taken back, listed and compared from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from latchwork.folder import locked, save_version
from tests.cli.calling import ONE_DOOR, call, job_in


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return job_in(tmp_path / "job")


def text(job: Path) -> str:
    return (job / "job.yaml").read_text(encoding="utf-8")


def test_a_value_of_a_door_and_a_run(job: Path) -> None:
    result = call(
        "set", job, "D1", "lock=magnet 24 V", "lock.holds down to=18 V", "--runs",
        "power=9 m of 2 x 1.5 mm²", "--remove", "diode",
    )  # fmt: skip
    assert result.exit_code == 0
    assert "-    lock: strike 24 V fail-secure, wide range" in result.output
    assert "+    lock: {part: magnet 24 V, holds down to: 18 V}" in result.output
    assert "{power: 9 m of 2 x 1.5 mm², reader: 2 m of 6 x 0.22 mm²}" in text(job)
    assert "diode" not in text(job)
    assert f"latchwork undo {job / 'job.yaml'}" in result.output


def test_the_site_a_supply_and_what_is_usual(job: Path) -> None:
    assert call("set", job, "site", "standby=8 h").exit_code == 0
    assert call("set", job, "S1", "limit=3 A", "outputs.1.fuse=1.6 A").exit_code == 0
    assert call("set", job, "usual", "closer=yes").exit_code == 0
    assert "standby: 8 h}" in text(job)
    assert "{1: {fuse: 1.6 A}}, limit: 3 A}" in text(job) or "limit: 3 A" in text(job)
    assert "usual:\n  closer: yes\n" in text(job)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("D2", "lock=magnet 24 V"), "found D2, expected one of: S1, D1"),
        (
            ("D1", "lok=magnet 24 V"),
            "doors.D1: found lok, expected a known name; the nearest is lock",
        ),
        (("D1", "lock=magnet 25 V"), "job.yaml:11:11: doors.D1.lock: found magnet 25 V"),
        (("D1", "name.left=x"), "a text or a list stands there"),
        (("D1", "--remove", "exit"), "doors.D1.exit: found nothing, expected one of: name"),
        (("D1",), "nothing to set"),
        (("D1", "lock"), "expected KEY=VALUE"),
        (("D1", "--runs", "power=18"), "the word of, and the cable"),
    ],
)
def test_what_cannot_be_set_is_told_and_nothing_saved(
    job: Path, arguments: tuple[str, ...], told: str
) -> None:
    result = call("set", job, *arguments)
    assert result.exit_code == 2
    assert told in result.stderr
    assert text(job) == ONE_DOOR
    assert sorted(p.name for p in job.iterdir()) == ["job.yaml"]


def test_a_job_with_problems_can_be_put_right(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job", ONE_DOOR.replace("lock: strike", "lock: strik"))
    assert call("check", job).exit_code == 2
    assert call("set", job, "D1", "lock=strike 24 V fail-secure, wide range").exit_code == 0
    assert text(job) == ONE_DOOR


def test_what_is_there_already_is_not_saved_again(job: Path) -> None:
    result = call("set", job, "D1", "name=Front")
    assert result.exit_code == 0
    assert "says that already" in result.output
    assert "No save yet" in call("versions", job).output


def test_undo_goes_back_and_keeps_what_was_changed_by_hand(job: Path) -> None:
    call("set", job, "D1", "name=Side")
    by_hand = text(job).replace("Sample house", "Another house")
    (job / "job.yaml").write_text(by_hand, encoding="utf-8")
    call("set", job, "D1", "closer=yes")
    for _ in range(2):
        assert call("undo", job).exit_code == 0
    assert text(job) == ONE_DOOR.replace("Sample house", "Another house")
    assert "nothing to take back" in call("undo", job).output
    listed = call("versions", job).output.splitlines()
    assert [line.split()[0] for line in listed] == ["1", "2", "3", "4"]
    assert "set: doors.D1.name  (taken back)" in listed[0]
    assert "(taken back, changed by hand before)" in listed[1]
    assert "undo 2: doors.D1.closer" in listed[2]


def test_undo_that_no_longer_fits_shows_both_texts(job: Path) -> None:
    call("set", job, "D1", "name=Side")
    changed = text(job).replace("name: Side", "name: Yard")
    (job / "job.yaml").write_text(changed, encoding="utf-8")
    result = call("undo", job)
    assert result.exit_code == 2
    assert "it expects:\n     Side" in result.stderr
    assert "there stands:\n     Yard" in result.stderr
    assert text(job) == changed


def test_versions_for_programs(job: Path) -> None:
    call("set", job, "D1", "name=Side")
    answer = json.loads(call("versions", job, "--json").output)
    assert answer["latchwork_versions"] == 1
    assert answer["versions"][0]["paths"] == ["doors.D1.name"]


def test_compare_in_the_jobs_terms_and_lines(job: Path) -> None:
    assert call("compare", job).output == "now and now are the same.\n"
    call("set", job, "D1", "name=Side")
    call("set", job, "D1", "--remove", "diode")
    output = call("compare", job, "1").output
    assert output.startswith("From 1 to now:\n  doors.D1.name: Front → Side\n")
    assert "doors.D1.diode: diode → nothing\n" in output
    assert "-    diode: diode\n" in output
    answer = json.loads(call("compare", job, "1", "2", "--json").output)
    assert answer["differences"] == [{"path": "doors.D1.name", "old": "Front", "new": "Side"}]
    wrong = call("compare", job, "7")
    assert wrong.exit_code == 2
    assert "found 7, expected one of: 1, 2, now" in wrong.stderr


def test_a_file_changed_meanwhile_is_never_written_over(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody saves between our reading and our saving."""
    theirs = ONE_DOOR.replace("name: Front", "name: Theirs")

    def late(*arguments: object, **more: object) -> object:
        (job / "job.yaml").write_text(theirs, encoding="utf-8")
        return save_version(*arguments, **more)  # type: ignore[arg-type]  # passed on as they came

    monkeypatch.setattr("latchwork.answers.edits.save_version", late)
    result = call("set", job, "D1", "name=Ours")
    assert result.exit_code == 2
    assert "-    name: Theirs\n+    name: Ours" in result.stderr
    assert text(job) == theirs
    kept = job / "job.not-saved-1.yaml"
    assert kept.read_text(encoding="utf-8") == ONE_DOOR.replace("name: Front", "name: Ours")


def test_a_folder_in_use_is_told(job: Path) -> None:
    with locked(job):
        result = call("set", job, "D1", "name=Ours")
    assert result.exit_code == 2
    assert "process" in result.stderr
    assert text(job) == ONE_DOOR


def test_a_pinned_job_pins_what_comes_with_an_edit(job: Path) -> None:
    call("pin", job)
    call("set", job, "D1", "lock=magnet 24 V", "--remove", "diode")
    assert '"magnet 24 V"' in (job / "parts.lock").read_text(encoding="utf-8")
