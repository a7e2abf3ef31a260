"""Sizes and questions from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from latchwork.answers.opening import check_job
from tests.cli.calling import ONE_DOOR, call, job_in

GUESSED = (
    ONE_DOOR.replace("12 m of", "about 35 m of")
    .replace("1.0 mm²", "0.5 mm²")
    .replace("fail-secure, wide range", "fail-secure")
    .replace("    out by: lever\n", "")
)
"""A length that is a guess, and nothing said of lever or bar."""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return job_in(tmp_path / "job")


def test_sizes_as_a_table_and_as_lines(job: Path) -> None:
    result = call("sizes", job)
    assert result.exit_code == 0
    assert "D1.power   2 x 1.0 mm²   → 2 x 0.22 mm²" in result.output
    assert "D1.reader  6 x 0.22 mm²  as it is" in result.output
    assert "+    runs: {power: 12 m of 2 x 0.22 mm², reader: 2 m of 6 x 0.22 mm²}" in result.output
    assert "Fuses are not sized" in result.output
    assert (job / "job.yaml").read_text(encoding="utf-8") == ONE_DOOR
    answer = json.loads(call("sizes", job, "--json").output)
    assert answer["latchwork_sizes"] == 1
    assert {line["kind"] for line in answer["sizes"]} == {"run", "limit", "battery"}


def test_a_site_in_feet_reads_lengths_in_feet(tmp_path: Path) -> None:
    text = ONE_DOOR.replace("Sample house,", "Sample house, units: US,").replace("12 m", "40 ft")
    assert "Front · 40 ft" in call("sizes", job_in(tmp_path, text)).output


def test_a_guessed_length_stays_a_guess(tmp_path: Path) -> None:
    job = job_in(tmp_path, ONE_DOOR.replace("12 m of", "about 12 m of"))
    assert "Front · about 12 m" in call("sizes", job).output
    lines = json.loads(call("sizes", job, "--json").output)["sizes"]
    known = [(line["id"], line["length_known"]) for line in lines]
    assert known[0] == ("D1.power", "guessed")
    assert {tells for _, tells in known[1:]} == {"data sheet", ""}  # as written


def test_sizes_are_set_on_demand(job: Path) -> None:
    assert "Saved" in call("sizes", job, "--write").output
    assert [f for f in check_job(job).findings if f.severity != "note"] == []
    again = call("sizes", job)
    assert "→" not in again.output
    call("undo", job)
    assert (job / "job.yaml").read_text(encoding="utf-8") == ONE_DOOR


def test_questions_the_one_that_settles_most_first(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job", GUESSED)
    result = call("questions", job)
    assert result.exit_code == 0
    lines = result.output.splitlines()
    asked = [line for line in lines if line[:3].strip().isdigit()]
    assert len(asked) == 2
    settles = [
        len(q["settles"]) for q in json.loads(call("questions", job, "--json").output)["questions"]
    ]
    assert settles == sorted(settles, reverse=True)
    assert "if it is nothing mechanical: D1 (Front): people inside cannot leave" in " ".join(
        result.output.split()
    )
    answer = json.loads(call("questions", job, "--json").output)
    assert answer["latchwork_questions"] == 1
    by_path = {q["path"]: q for q in answer["questions"]}
    assert by_path["doors.D1.runs.power"]["tried"] == ["28 m", "42 m"]
    assert by_path["doors.D1.out by"]["said"] == "unknown"


def test_check_counts_what_is_provisional(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job", GUESSED)
    answer = check_job(job)
    assert answer.provisional == sum(
        bool(f.provisional) for f in answer.findings if f.severity != "note"
    )
    assert answer.provisional > 0
    output = " ".join(call("check", job).output.split())
    assert f"latchwork questions {job} tries each" in output


def test_every_guess_that_check_names_is_asked(tmp_path: Path) -> None:
    """The figures that the catalogue assumes too."""
    thin = ONE_DOOR.replace("12 m of 2 x 1.0 mm²", "95 m of 2 x 0.22 mm²")
    for text in (GUESSED, thin):
        job = job_in(tmp_path / f"{len(text)}", text)
        named = {
            path for f in check_job(job).findings if f.severity != "note" for path in f.provisional
        }
        answer = json.loads(call("questions", job, "--json").output)
        assert named
        assert named <= {q["path"] for q in answer["questions"]}
        found = {(f.rule, f.subject) for f in check_job(job).findings if f.severity != "note"}
        told = {(h["rule"], h["subject"]) for q in answer["questions"] for h in q["settles"]}
        assert answer["provisional"] == len(found & told)
    assert "what a core of 2 x 0.22 mm² reads" in call("questions", job).output


def test_nothing_to_ask(job: Path) -> None:
    assert "Nothing is guessed or unknown." in call("questions", job).output


@pytest.mark.parametrize("verb", ["sizes", "questions", "versions", "compare", "undo"])
def test_a_job_that_is_not_there(tmp_path: Path, verb: str) -> None:
    result = call(verb, tmp_path / "nowhere")
    assert result.exit_code == 2
    assert "no such file" in result.stderr
