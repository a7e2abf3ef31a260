"""The commands: files where they were asked for, plain words where they cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.calling import call, job_in


def test_papers_go_into_the_jobs_folder(tmp_path: Path) -> None:
    result = call("papers", job_in(tmp_path / "job"), "--only", "cover", "--date", "2026-03-02")
    assert result.exit_code == 0, result.output
    assert (tmp_path / "job" / "papers.pdf").read_bytes().startswith(b"%PDF-1.7")


def test_us_sites_get_letter_and_feet(tmp_path: Path) -> None:
    folder = job_in(tmp_path / "job")
    job = folder / "job.yaml"
    job.write_text(
        job.read_text(encoding="utf-8").replace("Sample house,", "Sample house, units: US,")
    )
    call("papers", folder, "--only", "cables", "--date", "2026-03-02", "--out", tmp_path / "x.pdf")
    from tests.papers.made import text_of

    pdf = (tmp_path / "x.pdf").read_bytes()
    assert b"612" in pdf
    assert "Length, ft" in text_of(pdf)[0]


def test_schedules_as_csv_and_workbook(tmp_path: Path) -> None:
    folder = job_in(tmp_path / "job")
    result = call("schedules", folder, "--csv", tmp_path / "csv", "--xlsx", tmp_path / "x.xlsx")
    assert result.exit_code == 0, result.output
    assert len(list((tmp_path / "csv").iterdir())) == 8
    assert (tmp_path / "x.xlsx").read_bytes().startswith(b"PK")


@pytest.mark.parametrize(
    ("arguments", "found"),
    [(("--only", "cover,drawing"), "drawing"), (("--labels", "38x22"), "38x22")],
)
def test_a_part_that_there_is_not_is_told_with_the_nearest(
    tmp_path: Path, arguments: tuple[str, ...], found: str
) -> None:
    result = call("papers", job_in(tmp_path / "job"), *arguments)
    assert result.exit_code == 2
    assert f"found {found}, expected" in result.output


@pytest.mark.parametrize(
    ("arguments", "wrong"),
    [
        (("--for", "doors"), ["--for"]),
        (("--labels", "38x21", "--only", "tests", "--service"), ["--only", "--service"]),
        (("--labels", "38x21", "--size", "Letter"), ["--size"]),
    ],
)
def test_options_that_mean_nothing_together_are_told(
    tmp_path: Path, arguments: tuple[str, ...], wrong: list[str]
) -> None:
    folder = job_in(tmp_path / "job")
    result = call("papers", folder, *arguments)
    assert result.exit_code == 2
    assert [line.partition(":")[0] for line in result.output.splitlines()] == wrong
    assert [p.name for p in folder.iterdir()] == ["job.yaml"]


@pytest.mark.parametrize("verb", [("papers", "--out"), ("schedules", "--xlsx")])
def test_a_place_that_cannot_be_written_is_told_and_nothing_is_left(
    tmp_path: Path, verb: tuple[str, str]
) -> None:
    folder = job_in(tmp_path / "job")
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    result = call(verb[0], folder, verb[1], in_the_way / "sub" / "x")
    assert result.exit_code == 2
    assert str(in_the_way) in result.output
    assert sorted(p.name for p in tmp_path.rglob("*")) == ["file", "job", "job.yaml"]


def test_a_job_that_cannot_be_read_gives_no_file(tmp_path: Path) -> None:
    folder = job_in(tmp_path / "job", "latchwork: 1\ndoors: {D1: {lock: nothing like it}}\n")
    result = call("papers", folder)
    assert result.exit_code == 2
    assert [p.name for p in folder.iterdir()] == ["job.yaml"]
