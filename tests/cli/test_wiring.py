"""A door's rows as printed can be pasted back and mean the same."""

from __future__ import annotations

import textwrap
from pathlib import Path

import pytest

from latchwork.answers.opening import check_job
from latchwork.demo import write_demo
from tests.cli.calling import ONE_DOOR, call, job_in


def test_rows_pasted_back_change_nothing(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    before = check_job(job)
    rows = call("wiring", job, "D1").output
    assert "[controller.NO," in rows
    again = check_job(job_in(tmp_path / "again", ONE_DOOR + rows))
    assert again.doors[0].arrangement == "own wiring"
    assert again.doors[0].locks == before.doors[0].locks
    assert again.doors[0].questions == before.doors[0].questions
    assert again.findings == before.findings


@pytest.mark.parametrize("door", [f"D{n}" for n in range(1, 9)])
def test_every_door_of_the_demo_is_printed(tmp_path: Path, door: str) -> None:
    _, mended = write_demo(tmp_path)
    rows = call("wiring", mended, door)
    assert rows.exit_code == 0
    assert "wiring:" in textwrap.dedent(rows.output).splitlines()


def test_an_unknown_door_is_told(tmp_path: Path) -> None:
    result = call("wiring", job_in(tmp_path / "job"), "D9")
    assert result.exit_code == 2
    assert result.stderr == "DOOR: found D9, expected one of: D1\n"
