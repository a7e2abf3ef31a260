"""Mistakes of every stage are told in one go: what cannot be read, parts that there are not, rows
that join nothing. Nothing is told that only follows from another mistake."""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.job import JobErrors
from latchwork.opening import open_job
from tests.cli.calling import call

JOB = """
latchwork: 1
site: {name: Mistakes, standby: 4 h}
supplies:
  S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah}
  S2: {part: supply 24 V}
doors:
  D1:
    lock: strike 24 V fail-secure
    out by: lever
    controller: controller
    supply: S1
    runs: {power: 18 m of 2 x 1.0 mm²}
  D2:
    lock: strike 24 V fail-secure
    out by: lever
    controller: controller
    exit: exit button
    supply: S2
    runs: {power: 18 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}
  D3:
    lock: strike 24 V fail-secure
    out by: lever
    controller: controller
    supply: S2
    cables: {main: 20 m of 4 x 1.0 mm²}
    wiring:
      - [S2.+, main brown, controller.+]
      - [S2.-, main blue, controller.-]
      - [controller.NO, lead, lock.+]
      - [controller.COM, lead, controller.+]
      - [lock.-, lead, controller.-]
"""
MISTAKES = {
    "site.standby": ("standby: 4 h", "standby: 4"),
    "supplies.S1.limit": ("part: supply 24 V, battery", "part: supply 24 V, limit: 3, battery"),
    "doors.D1.runs.power": (
        "    supply: S1\n    runs: {power: 18 m",
        "    supply: S1\n    runs: {power: 18",
    ),
    "doors.D2.exit": ("exit: exit button", "exit: exit buton"),
    "doors.D3.wiring.2": ("main blue", "main purple"),
}
"""Where each is told; what is written, and what is written in its place."""


def told(path: Path, *wrong: str) -> list[str]:
    text = JOB
    for each in wrong:
        right, mistake = MISTAKES[each]
        assert text.count(right) == 1
        text = text.replace(right, mistake)
    path.write_text(text, encoding="utf-8")
    try:
        open_job(path)
    except JobErrors as errors:
        return [problem.field for problem in errors.problems]
    return []


@pytest.mark.parametrize("wrong", [tuple(MISTAKES), *((each,) for each in MISTAKES), ()])
def test_mistakes_of_all_stages_at_once_and_nothing_else(
    tmp_path: Path, wrong: tuple[str, ...]
) -> None:
    assert sorted(told(tmp_path / "job.yaml", *wrong)) == sorted(wrong)


def test_a_row_to_a_door_that_is_left_out_is_no_mistake(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    told(job, "doors.D2.exit")
    text = job.read_text(encoding="utf-8")
    joined = text.replace("[lock.-, lead, controller.-]", "[lock.-, lead, D2.controller.-]")
    job.write_text(joined, encoding="utf-8")
    with pytest.raises(JobErrors) as errors:
        open_job(job)
    assert [problem.field for problem in errors.value.problems] == ["doors.D2.exit"]


TAPPED = """
cables: {trunk: 40 m of 2 x 1.5 mm²}
taps: {K1: {on: trunk, at: 20 m}}
wiring:
  - [S2.+, trunk brown, open]
  - [S2.-, trunk blue, open]
"""
UNREAD = [
    ("main: 20 m of 4 x 1.0 mm²", "main: 20 of 4 x 1.0 mm²", "doors.D3.cables.main"),
    ("main: 20 m of 4 x 1.0 mm²", "main: 20 m of 4 x 1.0", "doors.D3.cables.main"),
    (
        "controller: controller\n    supply: S2\n    cables",
        "controller: [controller]\n    supply: S2\n    cables",
        "doors.D3.controller",
    ),
    ("trunk: 40 m", "trunk: 40", "cables.trunk"),
    ("2 x 1.5 mm²", "2 x 1.5 mm3", "cables.trunk"),
]
"""Lines that cannot be read or used, of names that other lines use."""


@pytest.mark.parametrize(("right", "mistake", "told_at"), UNREAD)
def test_a_name_whose_own_line_cannot_be_read_is_known(
    tmp_path: Path, right: str, mistake: str, told_at: str
) -> None:
    text = JOB + TAPPED
    assert text.count(right) == 1
    job = tmp_path / "job.yaml"
    job.write_text(text, encoding="utf-8")
    open_job(job)
    job.write_text(text.replace(right, mistake), encoding="utf-8")
    with pytest.raises(JobErrors) as errors:
        open_job(job)
    assert [problem.field for problem in errors.value.problems] == [told_at]


def test_no_door_is_looked_at_where_what_is_usual_cannot_be_read(tmp_path: Path) -> None:
    """Any row may be about what every door has."""
    text = JOB.replace("doors:\n", "usual: {exit: exit button}\ndoors:\n")
    row = "      - [lock.-, lead, controller.-]\n"
    text = text.replace(row, f"{row}      - [controller.EXIT, lead, exit.NO]\n")
    job = tmp_path / "job.yaml"
    job.write_text(text, encoding="utf-8")
    open_job(job)
    job.write_text(text.replace("usual: {exit: exit button}", "usual: {exit: [exit button]}"))
    with pytest.raises(JobErrors) as errors:
        open_job(job)
    assert [problem.field for problem in errors.value.problems] == ["usual.exit"]


def test_more_may_show_where_not_all_could_be_looked_at(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    told(job, "site.standby")
    assert "others may show" in call("check", job).output
    told(job, "doors.D3.wiring.2")
    assert "others may show" not in call("check", job).output
