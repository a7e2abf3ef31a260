"""``latchwork draw`` writes whole files or none, and says plainly what it cannot do."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from latchwork.cli.draw import draw
from latchwork.demo import write_demo
from latchwork.drawing.names import file_names
from latchwork.words import say


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return write_demo(tmp_path / "demo")[1]


def test_all_doors_and_the_site(job: Path) -> None:
    result = CliRunner().invoke(draw, [str(job)])
    assert result.exit_code == 0, result.output
    names = {file.name for file in (job / "drawings").iterdir()}
    assert names == {"site.svg", *(f"door-D{n}.svg" for n in range(1, 9))}
    assert "9 files" in result.output


def test_one_door_with_dxf_elsewhere(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    call = [str(job), "--door", "D3", "--dxf", "--out", str(out), "--date", "2026-03-01"]
    result = CliRunner().invoke(draw, call)
    assert result.exit_code == 0, result.output
    assert {file.name for file in out.iterdir()} == {"door-D3.svg", "door-D3.dxf"}
    assert "2026-03-01" in (out / "door-D3.svg").read_text(encoding="utf-8")


def test_doors_that_differ_by_capitals_get_files_that_differ(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(
        "latchwork: 1\nsupplies: {S1: {part: supply 12 V}}\ndoors:\n"
        + "".join(
            f"  {name}: {{supply: S1, lock: strike 12 V fail-secure, controller: controller,"
            f" out by: lever}}\n"
            for name in ("D1", "d1", "d1-2")
        ),
        encoding="utf-8",
    )
    result = CliRunner().invoke(draw, [str(tmp_path)])
    assert result.exit_code == 0, result.output
    written = {file.name: file.read_text("utf-8") for file in (tmp_path / "drawings").iterdir()}
    assert len({name.casefold() for name in written}) == 4
    for door, name in file_names(["D1", "d1", "d1-2"]).items():
        assert f"{door}.lock" in written[f"{name}.svg"]
    CliRunner().invoke(draw, [str(tmp_path), "--door", "d1", "--out", str(tmp_path / "one")])
    (one,) = (tmp_path / "one").iterdir()
    assert one.read_text("utf-8") == written[one.name]


def test_the_site_alone(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = CliRunner().invoke(draw, [str(job), "--site", "--narrow", "--out", str(out)])
    assert result.exit_code == 0, result.output
    assert [file.name for file in out.iterdir()] == ["site.svg"]


def test_an_unknown_door_is_told_with_the_nearest(job: Path) -> None:
    result = CliRunner().invoke(draw, [str(job), "--door", "D33"])
    assert result.exit_code == 2
    assert "D33" in result.output
    assert "D3" in result.output
    assert not (job / "drawings").exists()


def test_a_folder_that_cannot_be_written_is_said_plainly(job: Path, tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder", encoding="utf-8")
    result = CliRunner().invoke(draw, [str(job), "--out", str(in_the_way / "deeper")])
    assert result.exit_code == 2
    assert str(in_the_way) in result.output
    assert "Traceback" not in result.output
    assert in_the_way.read_text(encoding="utf-8") == "not a folder"


def test_a_job_that_is_not_there_is_said_plainly(tmp_path: Path) -> None:
    result = CliRunner().invoke(draw, [str(tmp_path / "nowhere")])
    assert result.exit_code == 2
    assert "nowhere" in result.output


@pytest.mark.parametrize("form", [(), ("--narrow",)])
def test_a_door_without_anything_is_drawn_and_says_so(
    tmp_path: Path, form: tuple[str, ...]
) -> None:
    (tmp_path / "job.yaml").write_text("latchwork: 1\ndoors: {D1: {}}\n", encoding="utf-8")
    result = CliRunner().invoke(draw, [str(tmp_path), "--dxf", *form], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    drawn = (tmp_path / "drawings" / "door-D1.svg").read_text(encoding="utf-8")
    assert say("drawing.below.nothing") in drawn


def test_the_drawing_of_a_door_that_is_no_more_is_told(tmp_path: Path) -> None:
    """A drawing left from before would be handed over with the others (common practice, no
    source). A folder that holds other jobs' drawings too is no matter of this one."""
    job = tmp_path / "job.yaml"
    doors = "  D1: {lock: strike 24 V fail-secure}\n  D2: {lock: strike 24 V fail-secure}\n"
    job.write_text(f"latchwork: 1\ndoors:\n{doors}", encoding="utf-8")
    run = CliRunner()
    assert "any more" not in run.invoke(draw, [str(tmp_path)]).output
    job.write_text(job.read_text(encoding="utf-8").replace("D2", "D3"), encoding="utf-8")
    told = run.invoke(draw, [str(tmp_path)]).output
    assert "any more" in told
    assert told.rstrip().endswith("door-D2.svg")
    apart = tmp_path / "drawings"
    assert "any more" not in run.invoke(draw, [str(tmp_path), "--out", str(apart)]).output
