"""Whatever is wrong with a job is told with file, line, field, found and expected, all at once."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from tests.cli.calling import ONE_DOOR, call, job_in

RUNS = "runs: {power: 12 m of 2 x 1.0 mm², reader: 2 m of 6 x 0.22 mm²}"
FOUND = "    found:\n      - "

# What is wrong: (was, is now), then line, field, found and a part of what is expected.
SLIPS = {
    "unknown field": (("name: Front", "nmae: Front"), 7, "doors.D1", "nmae", "nearest is name"),
    "unknown section": (("doors:", "dors:"), 5, "", "dors", "nearest is doors"),
    "wrong unit": (("12 m of", "12 kg of"), 16, "doors.D1.runs.power", "12 kg", "18 m or 60 ft"),
    "missing unit": (("fuse: 1.0 A", "fuse: 1.0"), 4, "supplies.S1.outputs.1.fuse", "1.0", "A"),
    "below zero": (("12 m of", "-12 m of"), 16, "doors.D1.runs.power", "-12 m", "below zero"),
    "missing part": (
        ("lock: strike 24 V fail-secure, wide range", "lock: {works from: 18 V}"),
        11,
        "doors.D1.lock",
        "no part",
        "part: and its name",
    ),
    "unknown part": (
        ("part: supply 24 V", "part: suply 24 V"),
        4,
        "supplies.S1",
        "suply 24 V",
        "supply 24 V",
    ),
    "a word the part does not take": (
        ("lock: strike 24 V fail-secure, wide range", "lock: {part: magnet 24 V, hold to: 18 V}"),
        11,
        "doors.D1.lock.hold to",
        "hold to",
        "holds down to",
    ),
    "duplicate id": (("supplies:", "doors: {D1: {}}\nsupplies:"), 6, "", "doors again", "line 3"),
    "unknown supply": (("supply: S1 out 1", "supply: S9"), 15, "doors.D1.supply", "S9", "S1"),
    "unknown output": (("S1 out 1", "S1 out 7"), 15, "doors.D1.supply", "S1 out 7", "1"),
    "no such terminal": (
        (RUNS, RUNS + "\n" + FOUND + "{added: lead, from: controller.NOO, to: lock.+}"),
        18,
        "doors.D1.found.1",
        "NOO",
        "nearest is NO",
    ),
    "no such device": (
        (RUNS, RUNS + "\n" + FOUND + "{added: lead, from: controler.NO, to: lock.+}"),
        18,
        "doors.D1.found.1.from",
        "controler",
        "nearest is controller",
    ),
    "a comment that was none": (("name: Front", "name: Front # 3"), 7, "", "comment", "quotes"),
    "a decimal comma": (("2 x 1.0 mm²", "2 x 1,0 mm²"), 16, "", "2 x 1,0 mm²", "2 x 1.0 mm²"),
    "a list by a comma": ((RUNS, "runs: [0,75 mm²]"), 16, "doors.D1.runs", "a list", "names with"),
    "no space after a colon": (("{power: 12", "{power:12"), 16, "", "power:12 m", "power: 12 m"),
    "an exponent": (("12 m of", "1E2 of"), 16, "doors.D1.runs.power", "1E2", "18 m or 60 ft"),
    "NO is no answer": (("out by: lever", "out by: NO"), 10, "doors.D1.out by", "NO", "lever"),
    "a colon in a name": (("name: Front", "name: Gate: north"), 7, "", "Gate: north", "quotes"),
    "an inch mark": (("name: Front", 'name: "6" door"'), 7, "", '"6" door"', "6 in"),
    "a tab": (("    name: Front", "\tname: Front"), 7, "", "name: Front", "spaces, no tab"),
    "an anchor": (("name: Front", "name: &a Front"), 7, "", "&a", "no anchors"),
    "a later format": (("latchwork: 1", "latchwork: 9"), 1, "latchwork", "9", "1, the version"),
}


def told(job: Path) -> str:
    result = call("check", job)
    assert result.exit_code == 2
    assert result.stdout == ""
    return result.stderr


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_is_told_with_its_place(tmp_path: Path, slip: str) -> None:
    (was, now), line, field, found, expected = SLIPS[slip]
    assert ONE_DOOR.count(was) == 1
    job = job_in(tmp_path / "job", ONE_DOOR.replace(was, now))
    first = told(job).splitlines()[0]
    where, _, rest = first.partition(": found ")
    assert re.match(rf"{re.escape(str(job / 'job.yaml'))}:{line}:\d+", where), first
    assert where.endswith(f": {field}" if field else where)
    said, _, wanted = rest.partition(", expected ")
    assert found in said
    assert expected in wanted


def test_every_slip_of_a_file_is_told_at_once(tmp_path: Path) -> None:
    text = ONE_DOOR
    for slip in ("unknown field", "wrong unit", "unknown supply", "NO is no answer"):
        text = text.replace(*SLIPS[slip][0])
    *lines, count, _ = told(job_in(tmp_path / "job", text)).splitlines()
    assert [int(line.split("job.yaml:")[1].split(":")[0]) for line in lines] == [7, 10, 15, 16]
    assert count == "4 problems. Nothing was done."


def test_junk_is_refused_with_a_reason(tmp_path: Path) -> None:
    deep = b"a: " + b"[" * 100 + b"]" * 100
    junk = {
        b"\xff\x00" + os.urandom(500): "UTF-8",
        "name: Tür".encode("latin-1"): "UTF-8",
        b"a: \x00": "plain text",
        deep: "at most 20 levels",
        b"#" * (16 * 1024 * 1024 + 1): "at most 16 MB",
        b"": "latchwork: 1",
        b"hello": "latchwork: 1",
        b"[" * 30000: "",
    }
    for data, expected in junk.items():
        job = job_in(tmp_path / "job")
        (job / "job.yaml").write_bytes(data)
        assert expected in told(job)


def test_no_message_steers_the_terminal(tmp_path: Path) -> None:
    """The id would clear the screen and turn about what follows."""
    text = ONE_DOOR.replace("  D1:", '  "D\\e[2J\\u202E1\\u2028b":')
    message = told(job_in(tmp_path / "job", text))
    assert "found DU+001B[2JU+202E1 b, expected an id" in message


def test_a_job_that_is_not_there_is_told(tmp_path: Path) -> None:
    assert "no such file" in told(tmp_path / "nowhere")
    assert "no such file" in told(tmp_path)


def test_programs_get_problems_as_data(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job", ONE_DOOR.replace("name: Front", "nmae: Front"))
    result = call("check", job, "--json")
    assert result.exit_code == 2
    answer = json.loads(result.stdout)
    assert answer["latchwork_problems"] == 1
    (problem,) = answer["problems"]
    assert problem == {
        "file": str(job / "job.yaml"),
        "line": 7,
        "column": 5,
        "field": "doors.D1",
        "found": "nmae",
        "expected": "a known name; the nearest is name",
        "code": "field.name",
    }


@pytest.mark.parametrize(
    ("file", "text", "expected"),
    [
        ("parts.lock", "{", "pinned figures"),
        ("parts.lock", '{"version": 99}', "version 1"),
        ("parts.lock", '{"version": 1, "parts": {"x": {"kind": "cat"}}, "cables": {}}', "a kind"),
        ("my-parts.yaml", "parts: {my strike: {kind: cat}}", "strike"),
        ("my-parts.yaml", "parts: [", ""),
    ],
)
def test_files_beside_the_job_are_told_as_well(
    tmp_path: Path, file: str, text: str, expected: str
) -> None:
    job = job_in(tmp_path / "job")
    (job / file).write_text(text, encoding="utf-8")
    message = told(job)
    assert file in message
    assert expected in message


REAL = {
    "two supplies on one terminal": "{added: lead, from: S2.+, to: S1.1}",
    "supplies in a loop": "{added: lead, from: S2.-, to: S1.1}",
    "a supply shorted": "{added: lead, from: S1.1, to: S1.-}",
    "everything on the same screw": "{short: [lock.+, lock.-]}",
    "a lock that is not there": "{missing: lock}",
    "a controller that is not there": "{missing: controller}",
}


@pytest.mark.parametrize("how", REAL)
def test_what_a_site_may_have_is_never_refused(tmp_path: Path, how: str) -> None:
    text = ONE_DOOR.replace("doors:\n", "  S2: supply 12 V\ndoors:\n") + f"{FOUND}{REAL[how]}\n"
    result = call("check", job_in(tmp_path / "job", text))
    assert result.exit_code in (0, 1), result.output
    assert "points solved" in result.output


@pytest.mark.parametrize(
    ("called", "told"),
    [
        (("chekc", "."), "found chekc, expected a verb; the nearest is check"),
        (("add", "dor", "."), "found dor, expected a verb; the nearest is door"),
        (("add", "nook"), "found nook, expected a verb; one of: door, part, supply"),
        (("codes", "ad", "."), "found ad, expected a verb; the nearest is add"),
        (("check", "draw", "."), "found two verbs, check and draw, expected one"),
        (("check", "nowhere"), "expected a folder with a job.yaml in it, or that file"),
        (("papers", ".", "--date", "2.3.2026"), "found 2.3.2026, expected a date, year first"),
    ],
)
def test_a_slip_in_the_call_is_told_with_what_to_do(called: tuple[str, ...], told: str) -> None:
    result = call(*called)
    assert result.exit_code == 2
    assert told in " ".join(result.stderr.split())
