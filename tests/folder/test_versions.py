"""Saves keep what was there before; a file changed by somebody else is never written over."""

from __future__ import annotations

import errno
import json
import os
import random
import signal
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from latchwork.folder import (
    ChangedMeanwhile,
    Disk,
    FolderBusy,
    NothingToUndo,
    Version,
    locked,
    read_versions,
    save_version,
    text_before,
    to_undo,
)
from latchwork.job import JobErrors
from latchwork.job.changes import apply, put

NOW = datetime(2026, 2, 11, 9, 30, tzinfo=UTC)
FIRST = "latchwork: 1\nsite: {name: Öst-Mühle}\r\n# kept\n"
KILLS = 1000


class Killed(BaseException):
    """Passes every ``except Exception`` of the program, as a kill does."""


class Dying(Disk):
    """Stops before the ``left``-th system call, or in the middle of it where that can be."""

    def __init__(self, left: int, rng: random.Random, error: BaseException | None = None) -> None:
        self.left = left
        self.rng = rng
        self.error = error or Killed()

    def _step(self) -> bool:
        self.left -= 1
        return self.left < 0

    def create(self, path: Path, mode: int) -> int:
        if self._step():
            raise self.error
        return super().create(path, mode)

    def write(self, handle: int, data: memoryview) -> int:
        if self._step():
            super().write(handle, data[: self.rng.randrange(len(data) + 1)])
            raise self.error
        return super().write(handle, data[: self.rng.randrange(1, len(data) + 1)])

    def force(self, handle: int) -> None:
        if self._step():
            raise self.error

    def replace(self, new: Path, old: Path) -> None:
        if self._step():
            raise self.error
        super().replace(new, old)

    def force_folder(self, folder: Path) -> None:
        if self._step():
            raise self.error


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.yaml"
    path.write_bytes(FIRST.encode())
    return path


def now(job: Path) -> str:
    return job.read_bytes().decode()


def save(job: Path, name: str, disk: Disk | None = None, days: int = 0) -> Version:
    text = now(job)
    change = put(text, "site.name", name)
    after, _ = apply(text, change)
    when = NOW + timedelta(days=days)
    return save_version(job, text, after, [change], "set", now=when, disk=disk or Disk())


def undo(job: Path) -> Version:
    text = now(job)
    last = to_undo(read_versions(job, text))
    back = [change.inverse for change in reversed(last.changes)]
    after = text
    for change in back:
        after, _ = apply(after, change)
    return save_version(job, text, after, back, "undo", undoes=last.number, now=NOW)


def test_each_save_keeps_the_text_before_with_time_and_change(job: Path) -> None:
    first, second = save(job, "A"), save(job, "B", days=1)
    found = read_versions(job, now(job))
    assert found == (first, second)
    assert [(v.number, v.when, v.what) for v in found] == [
        (1, "2026-02-11T09:30:00+00:00", "set"),
        (2, "2026-02-12T09:30:00+00:00", "set"),
    ]
    assert text_before(job, 1) == FIRST
    assert text_before(job, 2) == FIRST.replace("Öst-Mühle", "A")
    assert now(job) == FIRST.replace("Öst-Mühle", "B")
    assert [c.path for v in found for c in v.changes] == ["site.name", "site.name"]


def test_the_index_is_only_added_to(job: Path) -> None:
    index = job.parent / "versions" / "index.jsonl"
    seen = b""
    for n in range(4):
        save(job, f"name {n}")
        assert index.read_bytes().startswith(seen)
        seen = index.read_bytes()
    undo(job)
    assert index.read_bytes().startswith(seen)


def test_undo_goes_back_step_by_step(job: Path) -> None:
    texts = [now(job)]
    for name in "ABC":
        save(job, name)
        texts.append(now(job))
    for text in reversed(texts[:-1]):
        undo(job)
        assert now(job) == text
    with pytest.raises(NothingToUndo):
        undo(job)
    save(job, "D")
    undo(job)
    assert now(job) == FIRST


def test_an_edit_by_hand_is_kept_as_a_version(job: Path) -> None:
    save(job, "A")
    by_hand = now(job).replace("# kept", "# kept well")
    job.write_bytes(by_hand.encode())
    save(job, "B")
    assert text_before(job, 2) == by_hand
    undo(job)
    assert now(job) == by_hand


@pytest.mark.parametrize("theirs", ["latchwork: 1\n", "", None])
def test_somebody_elses_change_stays_and_ours_is_kept_beside(job: Path, theirs: str | None) -> None:
    base = now(job)
    change = put(base, "site.name", "Ours")
    after, _ = apply(base, change)
    if theirs is None:
        job.unlink()
    else:
        job.write_bytes(theirs.encode())
    for n in (1, 2):
        with pytest.raises(ChangedMeanwhile) as caught:
            save_version(job, base, after, [change], "set")
        assert (caught.value.theirs, caught.value.ours) == (theirs, after)
        assert caught.value.kept == job.parent / f"job.not-saved-{n}.yaml"
        assert caught.value.kept.read_bytes().decode() == after
    assert (now(job) if job.exists() else None) == theirs
    assert read_versions(job) == ()


def test_a_change_in_the_last_moment_stays_too(job: Path) -> None:
    """The file is looked at again once everything else is done."""

    class Meanwhile(Disk):
        def replace(self, new: Path, old: Path) -> None:
            super().replace(new, old)
            if old.name == "index.jsonl":
                job.write_text("latchwork: 1\n", encoding="utf-8")

    with pytest.raises(ChangedMeanwhile):
        save(job, "Ours", Meanwhile())
    assert now(job) == "latchwork: 1\n"
    assert [v.finished for v in read_versions(job, now(job))] == [False]
    with pytest.raises(NothingToUndo):
        undo(job)


def test_one_writer_at_a_time(job: Path) -> None:
    with locked(job.parent), pytest.raises(FolderBusy):
        save(job, "A")
    assert now(job) == FIRST


def test_what_people_put_beside_the_versions_stays_and_takes_no_number(job: Path) -> None:
    save(job, "one")
    notes = job.parent / "versions" / "before the visit.yaml"
    notes.write_text("kept", encoding="utf-8")
    assert save(job, "two").number == 2
    assert notes.read_text(encoding="utf-8") == "kept"


def test_several_job_files_in_a_folder_have_their_own_versions(job: Path) -> None:
    other = job.with_name("other.yaml")
    other.write_bytes(FIRST.encode())
    save(job, "A")
    save(other, "B")
    save(job, "C")
    assert [v.number for v in read_versions(job)] == [1, 3]
    assert [v.number for v in read_versions(other)] == [2]
    undo(other)
    assert now(other) == FIRST


@pytest.mark.parametrize("line", ["junk", "[]", '{"number": 1}', '{"void": "x"}', "{" * 99999])
def test_a_spoilt_index_is_told_with_its_line(job: Path, line: str) -> None:
    save(job, "A")
    index = job.parent / "versions" / "index.jsonl"
    index.write_text(f"{index.read_text(encoding='utf-8')}{line}\n", encoding="utf-8")
    with pytest.raises(JobErrors) as caught:
        read_versions(job)
    (problem,) = caught.value.problems
    assert (problem.code, problem.line) == ("versions.form", 3)


def test_lines_are_plain_data(job: Path) -> None:
    save(job, "A")
    rows = (job.parent / "versions" / "index.jsonl").read_text(encoding="utf-8").splitlines()
    assert json.loads(rows[0]) == {"latchwork_versions": 1}
    assert json.loads(rows[1])["changes"] == [
        {"set": "site.name", "old": " Öst-Mühle", "new": " A"}
    ]


@pytest.mark.parametrize("steps", range(16))
def test_a_full_disk_leaves_the_old_text(job: Path, steps: int) -> None:
    disk = Dying(steps, random.Random(steps), OSError(errno.ENOSPC, "No space left"))
    with pytest.raises(OSError, match="No space"):
        save(job, "A", disk)
    if now(job) == FIRST:
        assert not [v for v in read_versions(job, FIRST) if v.finished]
    assert not list(job.parent.rglob("*.part"))
    save(job, "B")
    undo(job)


def test_a_thousand_kills_lose_nothing(job: Path) -> None:
    """Each kill stops another system call of a save. The last or the next text is there, whole,
    and what is written down of the saves tells which."""
    rng = random.Random(6)
    kills = finished = left = attempts = 0
    history = [FIRST]
    while kills < KILLS:
        attempts += 1
        base, name = now(job), f"name {attempts}"
        after, _ = apply(base, put(base, "site.name", name))
        try:
            save(job, name, Dying(left, rng))
            finished += 1
            left = 0
        except Killed:
            kills += 1
            left += 1
        found = now(job)
        assert found in (base, after), f"after kill {kills}"
        if found == after:
            history.append(after)
        if finished >= 3:
            versions = [v for v in read_versions(job, found) if v.finished]
            assert [text_before(job, v.number) for v in versions] == history[:-1]
            for path in (job.parent / "versions").iterdir():
                path.unlink()
            history, finished = [found], 0
    save(job, "last")
    assert sorted(p.name for p in job.parent.iterdir()) == [
        ".latchwork.lock",
        "job.yaml",
        "versions",
    ]
    assert not list((job.parent / "versions").glob("*.part"))


def test_real_kills_lose_nothing(job: Path) -> None:
    rng = random.Random(8)
    saved = 0
    for _ in range(25):
        ours, theirs = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                while True:
                    done = len([v for v in read_versions(job, now(job)) if v.finished])
                    save(job, f"name {done + 1}")
                    os.write(theirs, b".")
            finally:
                os._exit(1)
        os.close(theirs)
        assert os.read(ours, 1) == b".", "the child failed by an error of its own"
        saved += 1
        time.sleep(rng.uniform(0, 0.006))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        while more := os.read(ours, 64):
            saved += len(more)
        os.close(ours)
        found = [v for v in read_versions(job, now(job)) if v.finished]
        assert len(found) in (saved, saved + 1)
        saved = len(found)
        assert now(job) == FIRST.replace("Öst-Mühle", f"name {saved}")
        assert text_before(job, found[0].number) == FIRST
