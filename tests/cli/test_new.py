"""A job described by questions alone, and doors, supplies and parts added."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from latchwork.answers.opening import check_job
from latchwork.cli.command import latchwork
from latchwork.job import read_job
from latchwork.opening import open_job
from tests.cli.calling import ONE_DOOR, call, job_in

MOST_ANSWERS = 30


def told(*arguments: str | Path, answers: list[str]) -> Result:
    """The outcome of a command whose questions are answered so."""
    return CliRunner().invoke(
        latchwork,
        [str(a) for a in arguments],
        input="".join(f"{answer}\n" for answer in answers),
        prog_name="latchwork",
        catch_exceptions=False,
    )


def asked(result: Result) -> int:
    """How many answers a command waited for."""
    return result.output.count("> ")


def severities(job: Path) -> list[str]:
    return [f.severity for f in check_job(job).findings]


SITE = ["Weir House", "", "4 h"]
PLAIN = ["Front", "outside", "", "", "lever", "", "", "card", "12 m"]
LIKE = ["Back", "", "25 m"]
GUESSED = ["Store", "D1", ""]


def test_a_plain_site_of_three_doors(tmp_path: Path) -> None:
    """Described by questions alone, with few answers, and judged without a false warning."""
    job = tmp_path / "weir"
    answers = [*SITE, *PLAIN, *LIKE, *GUESSED, "", "", ""]
    result = told("new", job, answers=answers)
    assert result.exit_code == 0, result.output
    assert asked(result) == len(answers) <= MOST_ANSWERS
    assert severities(job) == []
    text = (job / "job.yaml").read_text(encoding="utf-8")
    assert "  D1:\n    name: Front\n    supply: S1\n    runs: {power: 12 m of 2 x" in text
    assert "    runs: {power: about 20 m of 2 x 1.0 mm²}\n" in text
    assert text.count("\n    ") == 9, "three lines a door"
    assert (job / "parts.lock").exists()


def test_three_doors_of_three_kinds(tmp_path: Path) -> None:
    """Each kind of lock asks what matters for it, and each door is sound."""
    job = tmp_path / "weir"
    magnet = ["Archive", "no", "inside", "none", "3", "nothing mechanical", *([""] * 6), "15 m"]
    bar = ["Hall", "no", "inside", "none", "3", "panic bar", *([""] * 6), "about 10 m", "", ""]
    magnet += ["", ""]
    answers = [*SITE, *PLAIN, *magnet, *bar, "", "", ""]
    result = told("new", job, answers=answers)
    assert result.exit_code == 0, result.output
    assert asked(result) == len(answers)
    found = check_job(job)
    assert [f.title for f in found.findings if f.severity != "note"] == []
    doors = read_job(job / "job.yaml").doors
    assert set(doors["D2"].devices) >= {"exit", "release", "fire"}
    assert "bar" in doors["D3"].devices
    assert "exit" not in doors["D3"].devices
    assert "diode" not in doors["D3"].devices


def test_only_what_still_matters_is_asked(tmp_path: Path) -> None:
    strike = told("new", tmp_path / "a", answers=[*SITE, *PLAIN, "", "", ""])
    assert "Which emergency release?" not in strike.output
    assert "Which exit device" not in strike.output
    assert "Which door is it like?" not in strike.output
    magnet = ["Archive", "inside", "none", "magnet 24 V", "3", "exit button", "", "", "", "", ""]
    other = told("new", tmp_path / "b", answers=[*SITE, *magnet, "15 m", "", "", "", "", ""])
    assert other.exit_code == 0, other.output
    assert "Which emergency release?" in other.output
    assert "usual:" not in (tmp_path / "b" / "job.yaml").read_text(encoding="utf-8")


def test_a_fire_contact_has_a_cable_there_and_back(tmp_path: Path) -> None:
    """Two cores to the panel's contact, and two from the supply: none is spare (common practice, no
    source)."""
    job = tmp_path / "a"
    magnet = ["Archive", "inside", "none", "magnet 24 V", "3", *([""] * 6), "15 m", "30 m"]
    magnet.append("behind the front desk")
    assert told("new", job, answers=[*SITE, *magnet, "", "", ""]).exit_code == 0
    text = (job / "job.yaml").read_text(encoding="utf-8")
    assert "power: 15 m of 2 x 1.5 mm²" in text
    assert "fire: 30 m of 2 x 1.5 mm²" in text
    cores = [c.cable for c in open_job(job).wiring.conductors]
    assert (cores.count("D1.power"), cores.count("D1.fire")) == (2, 2)
    # Whoever wires its far end does not stand at the door.
    assert open_job(job).wiring.plan.devices["D1.fire"].place == "behind the front desk"


def test_a_fire_contact_that_is_added_has_a_place(tmp_path: Path) -> None:
    job = job_in(tmp_path / "a", ONE_DOOR)
    said = ("--at", "D1", "--slot", "fire", "--part", "fire relay", "--length", "20 m")
    assert call("add", "part", job, "--yes", *said).exit_code == 0
    assert open_job(job).wiring.plan.devices["D1.fire"].place == "by the fire panel"


def test_one_that_doors_share_sends_the_feed_on_along_a_third_core(tmp_path: Path) -> None:
    job = tmp_path / "a"
    assert told("new", job, answers=[*SITE, *PLAIN, "", "", ""]).exit_code == 0
    assert call("add", "part", job, "--at", "shared", "--part", "fire relay").exit_code == 0
    told_of = {"name": "Archive", "lock": "magnet 24 V", "fire": "F1", "length": "15 m"}
    options = [word for key, value in told_of.items() for word in (f"--{key}", value)]
    assert call("add", "door", job, "--yes", *options).exit_code == 0
    runs = read_job(job / "job.yaml").doors["D2"].runs
    assert (runs["power"].cable, "fire" in runs) == ("3 x 1.5 mm²", False)
    cores = [c.cable for c in open_job(job).wiring.conductors]
    assert cores.count("D2.power") == 3


def test_no_battery_is_asked_of_a_transformer(tmp_path: Path) -> None:
    strike = "strike 12 V AC fail-secure"
    door = ["Porch", "", "", strike, "", "", "", "", "9 m"]
    result = told("new", tmp_path / "a", answers=[*SITE, *door, "", "transformer 12 V AC"])
    assert result.exit_code == 0, result.output
    assert "Which battery?" not in result.output


def test_an_answer_that_cannot_be_used_is_asked_again(tmp_path: Path) -> None:
    door = ["Front", "outsid", "outside", "", "strik 24", "1", "", "", "", "", "20", "20 m"]
    result = told("new", tmp_path / "a", answers=[*SITE, *door, "", "", ""])
    assert result.exit_code == 0, result.output
    assert "found outsid, expected a known name; the nearest is outside" in result.output
    assert "found strik 24, expected strike 24 V" in result.output
    assert "found 20, expected" in result.output


def test_an_unknown_length_is_kept_as_a_question(tmp_path: Path) -> None:
    answers = [*SITE, *PLAIN[:-1], "unknown", "", "", ""]
    assert told("new", tmp_path / "a", answers=answers).exit_code == 0
    job = read_job(tmp_path / "a" / "job.yaml")
    assert job.doors["D1"].unknown == ("doors.D1.runs.power.length",)
    assert severities(tmp_path / "a") == []


def test_us_units_where_the_rules_are_american(tmp_path: Path) -> None:
    answers = ["Mill", "2", "none", "Front", *([""] * 7), "", "", "", ""]
    result = told("new", tmp_path / "a", answers=answers)
    assert result.exit_code == 0, result.output
    text = (tmp_path / "a" / "job.yaml").read_text(encoding="utf-8")
    assert "units: US" in text, "as the schema has it, by which editors check"
    assert "about 65 ft of 2 x 16 AWG" in text
    result = call("add", "door", tmp_path / "a", "--name", "Side", "--like", "no", "--yes")
    assert result.exit_code == 0, result.output
    added = result.output.partition("D2:")[2]
    assert "about 65 ft of 2 x 16 AWG" in added
    assert " m of " not in added
    assert "mm²" not in added


def test_stopped_half_way_nothing_is_written(tmp_path: Path) -> None:
    result = told("new", tmp_path / "a", answers=[*SITE, "Front"])
    assert result.exit_code == 2
    assert "nothing was written" in result.stderr
    assert not (tmp_path / "a").exists()


def test_by_options_alone(tmp_path: Path) -> None:
    job = tmp_path / "a"
    result = call("new", job, "--site", "Weir House", "--yes")
    assert (result.exit_code, asked(result)) == (0, 0), result.output
    result = call(
        "add", "door", job, "--name", "Front", "--lock", "magnet 24 V", "--entry", "card",
        "--length", "12 m", "--yes",
    )  # fmt: skip
    assert (result.exit_code, asked(result)) == (0, 0), result.output
    assert call("add", "door", job, "--name", "Back", "--like", "D1", "--yes").exit_code == 0
    assert [s for s in severities(job) if s != "note"] == []
    assert list(read_job(job / "job.yaml").doors) == ["D1", "D2"]
    wrong = call("new", tmp_path / "b", "--site", "x", "--rules", "UK", "--yes")
    assert wrong.exit_code == 2
    assert wrong.stderr.startswith("--rules: found UK, expected")
    missing = call("new", tmp_path / "b", "--yes")
    assert missing.exit_code == 2
    assert "--site: found nothing, expected an answer" in missing.stderr


def test_a_job_that_is_there_is_left_alone(tmp_path: Path) -> None:
    job = job_in(tmp_path / "a")
    result = call("new", job, "--site", "Weir House", "--yes")
    assert result.exit_code == 2
    assert "found a job" in result.stderr
    assert (job / "job.yaml").read_text(encoding="utf-8") == ONE_DOOR


def test_a_door_like_another_in_three_lines(tmp_path: Path) -> None:
    job = tmp_path / "weir"
    told("new", job, answers=[*SITE, *PLAIN, *LIKE, "", "supply 24 V, 5 A", ""])
    result = told("add", "door", job, answers=["Cellar", "D1", "about 8 m"])
    assert result.exit_code == 0, result.output
    added = [line for line in result.output.splitlines() if line.startswith("+")]
    assert added == [
        "+",
        "+  D3:",
        "+    name: Cellar",
        "+    supply: S1",
        "+    runs: {power: about 8 m of 2 x 1.0 mm²}",
    ]
    assert severities(job) == []
    assert call("undo", job).exit_code == 0
    assert list(read_job(job / "job.yaml").doors) == ["D1", "D2"]


def test_usual_values_are_the_defaults_of_a_door(tmp_path: Path) -> None:
    job = tmp_path / "weir"
    told("new", job, answers=[*SITE, *PLAIN, *LIKE, "", "", ""])
    result = call("add", "door", job, "--name", "Side", "--like", "no", "--yes")
    assert result.exit_code == 0, result.output
    added = [line for line in result.output.splitlines() if line.startswith("+")]
    assert len(added) == 5, added


@pytest.mark.parametrize("kind", ["supply", "part"])
def test_a_supply_and_a_part(tmp_path: Path, kind: str) -> None:
    job = job_in(tmp_path / "a")
    if kind == "supply":
        result = told("add", "supply", job, answers=["supply 12 V, 2 A", "1 x 12 V 7 Ah"])
        assert '+  S2: {part: "supply 12 V, 2 A", battery: 1 x 12 V 7 Ah}' in result.output
    else:
        result = told("add", "part", job, answers=["D1", "exit", "exit sensor", "3 m"])
        assert "+    exit: exit sensor" in result.output
        assert "exit: 3 m of 4 x 0.22 mm²" in result.output
    assert result.exit_code == 0, result.output
    assert (job / "parts.lock").exists()
    assert [s for s in severities(job) if s != "note"] == []


def test_a_part_that_doors_share(tmp_path: Path) -> None:
    job = job_in(tmp_path / "a")
    result = call("add", "part", job, "--at", "shared", "--part", "fire relay", "--yes")
    assert result.exit_code == 0, result.output
    assert "+  F1: fire relay" in result.output


@pytest.mark.parametrize("supply", ["none", "exit button"])
def test_a_supply_that_is_none_is_refused_where_it_is_asked(tmp_path: Path, supply: str) -> None:
    refused = told(
        "new", tmp_path / "a", "--yes", "--site", "X", "--supply-part", supply, answers=[]
    )
    assert refused.exit_code == 2
    assert f"--supply-part: found {supply}, expected" in refused.output
    assert not (tmp_path / "a").exists()


def test_what_a_new_door_is_told_to_have_is_not_dropped(tmp_path: Path) -> None:
    """Who names a lock does not get a copy of another door."""
    job = job_in(tmp_path, ONE_DOOR)
    fire = ["--fire-rating", "30 min", "--lock", "strike 24 V fail-secure, fire-listed"]
    assert told("add", "door", job, "--yes", "--name", "Stair", *fire, answers=[]).exit_code == 0
    door = read_job(job / "job.yaml").doors["D2"]
    assert door.devices["lock"].part == fire[-1]
    assert "fire rating" in door.facts


@pytest.mark.parametrize(
    "more",
    [
        ["--like", "D1", "--lock", "magnet 24 V"],
        ["--lock", "strike 24 V fail-secure", "--out-by", "lever", "--release", "release"],
    ],
)
def test_an_answer_that_nobody_asks_for_is_refused(tmp_path: Path, more: list[str]) -> None:
    job = job_in(tmp_path, ONE_DOOR)
    before = (job / "job.yaml").read_bytes()
    refused = told("add", "door", job, "--yes", "--name", "Store", *more, answers=[])
    assert refused.exit_code == 2
    assert f"found {more[-1]}, expected nothing" in refused.output
    if "--like" not in more:
        assert "--release" in refused.output
    assert (job / "job.yaml").read_bytes() == before


def test_a_part_that_does_not_fit_its_place_is_told_with_the_place(tmp_path: Path) -> None:
    job = job_in(tmp_path, ONE_DOOR)
    part = ["--at", "D1", "--slot", "exit", "--part", "magnet 24 V"]
    refused = told("add", "part", job, "--yes", *part, answers=[])
    assert refused.exit_code == 2
    assert "doors.D1.exit: found magnet 24 V, expected an exit button" in refused.output
    assert (job / "job.yaml").read_text(encoding="utf-8") == ONE_DOOR


@pytest.mark.parametrize(
    ("said", "line"),
    [
        (["door", "--name", "Side", "--supply", "S1", "--like", "no"], "+    supply: S1"),
        (["part", "--at", "shared", "--slot", "fire", "--part", "fire relay"], "+  F1: fire relay"),
    ],
)
def test_a_right_answer_that_nobody_asks_for_is_taken(
    tmp_path: Path, said: list[str], line: str
) -> None:
    job = job_in(tmp_path, ONE_DOOR)
    done = told("add", said[0], job, "--yes", *said[1:], answers=[])
    assert done.exit_code == 0, done.output
    assert line in done.output


@pytest.mark.parametrize(
    ("said", "refused"),
    [
        (["door", "--name", "Side", "--supply", "S2", "--like", "no"], "--supply: found S2"),
        (
            ["part", "--at", "shared", "--slot", "fire", "--part", "magnet 24 V"],
            "--part: found magnet 24 V, expected a fire relay",
        ),
    ],
)
def test_a_wrong_one_is_not(tmp_path: Path, said: list[str], refused: str) -> None:
    job = job_in(tmp_path, ONE_DOOR)
    done = told("add", said[0], job, "--yes", *said[1:], answers=[])
    assert done.exit_code == 2
    assert refused in done.output
    assert (job / "job.yaml").read_text(encoding="utf-8") == ONE_DOOR
