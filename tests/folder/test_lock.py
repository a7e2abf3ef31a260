"""One writer at a time, and a dead one's lock is taken over."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from latchwork.folder import FolderBusy, locked

HOLD = """
import pathlib, sys, time
from latchwork.folder import locked
with locked(pathlib.Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def holder(folder: Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(folder)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "held\n"
    return process


def test_a_second_writer_is_told_who_the_first_is(tmp_path: Path) -> None:
    with holder(tmp_path) as process:
        try:
            with pytest.raises(FolderBusy, match=f"process {process.pid} on ") as caught:
                locked(tmp_path).__enter__()
        finally:
            process.kill()
    assert caught.value.holder is not None
    assert caught.value.holder.process == process.pid


def test_the_lock_of_a_killed_writer_is_taken_over_and_its_leavings_removed(
    tmp_path: Path,
) -> None:
    with holder(tmp_path) as process:
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    (tmp_path / "job.yaml.0a1b2c3d.part").write_bytes(b"half")
    with locked(tmp_path) as last:
        assert last is not None
        assert last.process == process.pid
        assert not list(tmp_path.glob("*.part"))
    with locked(tmp_path) as last:
        assert last is None


def test_within_one_program_too(tmp_path: Path) -> None:
    with locked(tmp_path) as last:
        assert last is None
        with pytest.raises(FolderBusy) as caught:
            locked(tmp_path).__enter__()
        assert caught.value.holder is not None
        assert caught.value.holder.process == os.getpid()
    with locked(tmp_path) as last:
        assert last is None


def test_let_go_after_an_error(tmp_path: Path) -> None:
    with pytest.raises(KeyError), locked(tmp_path):
        raise KeyError
    with locked(tmp_path) as last:
        assert last is None


@pytest.mark.parametrize("text", ["", "junk", "{}", "[]", '{"process": "x"}', "\ufffd" * 3000])
def test_a_lock_file_that_says_nothing_useful(tmp_path: Path, text: str) -> None:
    (tmp_path / ".latchwork.lock").write_text(text, encoding="utf-8")
    with locked(tmp_path) as last:
        assert last is None


def test_a_folder_that_cannot_be_written_raises_os_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        locked(tmp_path / "nowhere").__enter__()
