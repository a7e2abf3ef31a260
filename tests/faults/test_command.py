"""``latchwork faults`` as people and programs call it."""

from __future__ import annotations

import csv
import errno
import io
import json
import os
import re
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
from pyarrow import parquet

from latchwork.answers.faults import faults_job
from latchwork.answers.faults_model import FaultsAnswer
from latchwork.cli.command import INTERRUPTED
from latchwork.cli.faults_call import Call
from latchwork.faults import TOLD, Ask
from latchwork.folder import Disk
from tests.cli.calling import call, job_in
from tests.faults.known import jobs

MAGNET = next(iter(jobs().values()))


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return job_in(tmp_path_factory.mktemp("job"), MAGNET)


def test_people_and_programs_are_told_the_same(job: Path) -> None:
    shown, told = call("faults", job, "--door", "D1"), call("faults", job, "--json")
    assert shown.exit_code == told.exit_code == 1
    answer = msgspec.json.decode(told.stdout, type=FaultsAnswer)
    (door,) = answer.doors
    page = " ".join(shown.stdout.split())
    for fault in door.faults:
        assert fault.text in page, fault.text
    for effect, count in door.counts.items():
        if count:
            assert f"{effect} {count}" in page
    counts = answer.counts
    assert f"{counts.points} points: {counts.solved} solved, {counts.unsolved} unsolved" in page
    assert "4 core ends in hand: 15 of 15 ways" in page
    assert answer.caution in page


def test_people_are_told_all_that_each_fault_does(job: Path) -> None:
    """Faults that stand together on the page do the same: on this door a core of the lock on plus
    keeps the button from freeing it and holds it in a fire, a dead controller does the first only.
    """
    asked = ("faults", job, "--door", "D1", "--no-attacks")
    (door,) = msgspec.json.decode(call(*asked, "--json").stdout, type=FaultsAnswer).doors
    told = {}
    for names, why in re.findall(
        r"\n    (\S.+?)\n +in (.+?)(?=\n    \S|\n\n)", call(*asked).stdout, re.S
    ):
        for name in " ".join(names.split()).split(", "):
            told[name] = set(re.sub(r"\s+", " ", why).partition("also: ")[2].split(", ")) - {""}
    unnoticed = {"silent", "shows"}
    assert told == {f.text: set(f.also) - unnoticed for f in door.faults}
    assert len({frozenset(f.also) for f in door.faults}) > 3


def test_counts_are_those_of_the_lines(job: Path) -> None:
    (door,) = faults_job(job)[0].doors
    assert door.counts == {e.value: sum(f.effect == e.value for f in door.faults) for e in TOLD}


def test_a_door_whose_lock_is_missing_is_told_as_that(tmp_path: Path) -> None:
    """Nothing can go wrong at it any more, which is no good news."""
    found = "    found: [{part: lock, state: missing}]\n"
    result = call("faults", job_in(tmp_path, f"{MAGNET.rstrip()}\n{found}"))
    page = " ".join(result.stdout.split())
    assert result.exit_code == 1
    assert "Found missing: D1.lock. No other lock is there: nothing holds the door" in page
    assert "none opens the door" not in page


def test_one_fault_is_told_with_its_reason(job: Path) -> None:
    result = call("faults", job, "--fault", "exit.brown open", "--no-attacks")
    page = " ".join(result.stdout.split())
    assert "D1.exit.brown open" in page
    assert "in mains/normal/exit request" in page
    assert "D1.controller.contact NC closed; D1.lock has" in page
    assert "locked instead of unlocked" in page
    assert "Attacks" not in page


def test_no_consequence_ends_well(job: Path) -> None:
    result = call("faults", job, "--fault", "release contact NC1 welded", "--no-attacks")
    assert result.exit_code == 0


@pytest.mark.parametrize(
    ("option", "value", "says"),
    [
        ("--door", "D7", "--door: found D7, expected one of: D1"),
        ("--fault", "rusty", "--fault: found rusty, expected a word of a fault's name"),
    ],
)
def test_what_is_not_there_is_said(job: Path, option: str, value: str, says: str) -> None:
    result = call("faults", job, option, value)
    assert result.exit_code == 2
    assert says in result.stderr
    told = call("faults", job, option, value, "--json")
    assert json.loads(told.stdout)["problems"][0]["found"] == value


def test_a_broken_job_is_told_as_elsewhere(tmp_path: Path) -> None:
    result = call("faults", job_in(tmp_path, MAGNET.replace("exit button", "exit batton")))
    assert result.exit_code == 2
    assert "exit batton" in result.stderr


def test_every_what_if_is_a_row(job: Path, tmp_path: Path) -> None:
    file = tmp_path / "rows.csv"
    call("faults", job, "--csv", file, "--no-attacks")
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8"))))
    answer, _ = faults_job(job, ask=Ask(attacks=False))
    assert len(rows) == 28 * answer.faults
    assert {row["begins"] for row in rows} >= {"locked", "unlocked"}
    broken = [r for r in rows if r["fault"] == "D1.exit.brown open"]
    (asked,) = (r for r in broken if r["situation"] == "mains/normal/exit request")
    assert (asked["begins"], asked["held"]) == ("locked", "locked")
    assert float(asked["held_v"]) > 20.0


def test_a_name_that_no_file_can_have_is_refused_before_anything_is_run(
    job: Path, tmp_path: Path
) -> None:
    for name in ("x" * 300, *(["loop"] if os.name == "posix" else [])):
        if name == "loop":
            (tmp_path / name).symlink_to(name)
        result = call("faults", job, "--csv", tmp_path / name)
        assert result.exit_code == 2
        assert f"{tmp_path / name}: found" in result.stderr


def test_where_one_table_has_no_room_neither_is_written(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("latchwork.answers.faults_rows.parquet_bytes", lambda _: b"x" * 4096)
    create = Disk.write

    def full(disk: Disk, handle: int, data: memoryview) -> int:
        if len(data) == 4096:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return create(disk, handle, data)

    monkeypatch.setattr(Disk, "write", full)
    files = ("--csv", tmp_path / "rows.csv", "--parquet", tmp_path / "rows.parquet")
    result = call("faults", job, *files, "--no-attacks", "--fault", "welded")
    assert result.exit_code == 2
    assert f"rows.parquet: found {os.strerror(errno.ENOSPC)}" in result.stderr
    assert "rows written" not in result.stderr
    assert not list(tmp_path.glob("rows*"))


def test_parquet_holds_what_csv_holds(job: Path, tmp_path: Path) -> None:
    """Read back with pyarrow."""
    files = tmp_path / "rows.csv", tmp_path / "rows.parquet"
    call("faults", job, "--csv", files[0], "--parquet", files[1], "--no-attacks")
    table = parquet.read_table(files[1]).to_pydict()
    rows = list(csv.DictReader(io.StringIO(files[0].read_text(encoding="utf-8"))))
    assert list(table) == list(rows[0])
    for name, values in table.items():
        assert [str(value) for value in values] == [row[name] for row in rows]


def test_of_a_large_job_only_what_does_something(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from latchwork.faults import lot, report

    monkeypatch.setattr(lot, "MOST_ROWS", 1000)
    monkeypatch.setattr(report, "MOST_ROWS", 1000)
    file = tmp_path / "rows.csv"
    call("faults", job, "--csv", file, "--no-attacks")
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8"))))
    (door,) = faults_job(job, ask=Ask(attacks=False))[0].doors
    assert [r["fault"] for r in rows] == [f.id for f in door.faults]


def test_without_what_writes_parquet_nothing_is_run(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from latchwork.answers import faults_rows

    monkeypatch.setattr(faults_rows, "writes_parquet", lambda: False)
    result = call("faults", job, "--parquet", tmp_path / "rows.parquet")
    assert result.exit_code == 2
    assert "--parquet: found no pyarrow" in result.stderr
    assert list(tmp_path.iterdir()) == []


def interrupt(monkeypatch: pytest.MonkeyPatch, when: str) -> None:
    """Somebody stops the run once it tells of ``when``."""
    far = Call._far

    def stopping(self: Call, tell: Callable[[str], None]) -> Callable[[str, int, int], None]:
        came = far(self, tell)

        def step(what: str, done: int, total: int) -> None:
            came(what, done, total)
            if what == when:
                raise KeyboardInterrupt

        return step

    monkeypatch.setattr(Call, "_far", stopping)


@pytest.mark.parametrize(
    ("when", "says"),
    [
        ("faults", "points of single faults. Nothing was written."),
        ("attacks", "Stopped at attacks on 1 of 1 doors. Nothing was written."),
        ("silent", "Stopped at silent faults of 1 of 1 doors. Nothing was written."),
        ("pairs", "Stopped at pairs at 1 of 1 doors. Nothing was written."),
    ],
)
def test_an_interrupted_run_says_how_far_it_came(
    when: str, says: str, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    interrupt(monkeypatch, when)
    result = call("faults", job, "--csv", tmp_path / "rows.csv", "--pairs", "10")
    assert result.exit_code == INTERRUPTED
    assert says in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_interrupted_before_anything_runs_it_ends_alike(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(path: Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("latchwork.answers.faults.open_job", stop)
    result = call("faults", job)
    assert result.exit_code == INTERRUPTED
    assert result.stderr == "Stopped before anything was run. Nothing was written.\n"


def test_interrupted_late_it_says_what_is_written(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(self: Call, answers: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Call, "show", stop)
    file = tmp_path / "rows.csv"
    result = call("faults", job, "--csv", file, "--no-attacks")
    assert result.exit_code == INTERRUPTED
    assert f"Stopped. Written is {file}." in result.stderr
    assert file.read_text(encoding="utf-8").endswith("\n")


def test_tables_that_cannot_be_written_are_refused_before_anything_is_run(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("latchwork.answers.faults.faults_jobs", None)
    own, table = job / "job.yaml", tmp_path / "rows.csv"
    before = own.read_bytes()
    cases: list[tuple[list[str | Path], str]] = [
        (["--csv", tmp_path / "none" / "rows.csv"], "--csv: found no folder"),
        (["--csv", Path(os.devnull)], f"--csv: found {os.devnull}, which is no file"),
        (["--parquet", own], f"--parquet: found {own}, which is the job's own"),
        (["--csv", table, "--parquet", table], f"--parquet: found {table} again"),
        ([job, "--csv", table], "--csv: found 2 jobs, expected one job for one table"),
    ]
    for options, says in cases:
        result = call("faults", job, *options)
        assert result.exit_code == 2
        assert says in result.stderr
    monkeypatch.setattr(os, "access", lambda _, mode: mode == os.R_OK)
    result = call("faults", job, "--csv", table)
    assert f"--csv: found {tmp_path}, in which nothing may be written" in result.stderr
    assert own.read_bytes() == before
    assert list(tmp_path.iterdir()) == []


@pytest.fixture(scope="module")
def others(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A job for each of the hand-written doors."""
    folder = tmp_path_factory.mktemp("others")
    return [job_in(folder / f"{n}", text) for n, text in enumerate(jobs().values())]


def test_several_jobs_are_told_one_after_another(others: list[Path]) -> None:
    told = call("faults", *others, "--no-attacks", "--json")
    lines = told.stdout.splitlines()
    alone = [call("faults", job, "--no-attacks", "--json").stdout for job in others]
    assert [f"{line}\n" for line in lines] == alone
    assert told.exit_code == 1
    shown = call("faults", *others[:2], "--no-attacks").stdout
    pages = [call("faults", job, "--no-attacks").stdout for job in others[:2]]
    assert shown == f"{others[0]}\n{pages[0]}\n{others[1]}\n{pages[1]}"


def test_several_jobs_are_run_only_if_all_can_be(others: list[Path], tmp_path: Path) -> None:
    broken = job_in(tmp_path / "broken", MAGNET.replace("exit button", "exit batton"))
    result = call("faults", others[0], broken, tmp_path / "nowhere")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "exit batton" in result.stderr
    assert "nowhere: found no such file" in result.stderr


def test_pairs_and_worst_cases_by_option(job: Path) -> None:
    result = call("faults", job, "--pairs", "500", "--worst", "--no-attacks", "--json")
    answer = msgspec.json.decode(result.stdout, type=FaultsAnswer)
    assert answer.pairs_run == 500
    (door,) = answer.doors
    assert "D1.release stuck at rest" in {pair.silent for pair in door.pairs}
    assert {fault.case for fault in door.faults} >= {"nominal"}


def test_a_job_without_doors_is_told_whole(tmp_path: Path) -> None:
    bare = job_in(tmp_path / "bare", "latchwork: 1\nsupplies:\n  S1: {part: supply 24 V}\n")
    result = call("faults", bare, "--pairs", "5", "--worst", "--csv", tmp_path / "rows.csv")
    assert result.exit_code == 0
    assert "0 faults, 0 points: 0 solved, 0 unsolved" in " ".join(result.stdout.split())
    assert len((tmp_path / "rows.csv").read_text(encoding="utf-8").splitlines()) == 1
