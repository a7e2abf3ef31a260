"""Killed at any step of a save, a file holds its last or its next state, whole."""

from __future__ import annotations

import errno
import os
import stat
import sys
from pathlib import Path

import pytest

from latchwork.folder import PRIVATE, Disk, remove_leftovers, write_all, write_atomic

OLD, NEW = b"old" * 1000, b"new" * 2000


class Killed(BaseException):
    """Passes every ``except`` of the program, as a kill does."""


class Dying(Disk):
    """Stops before the step of that number. Takes few bytes at a time."""

    def __init__(self, steps: int, error: BaseException) -> None:
        self.steps = steps
        self.error = error

    def _step(self) -> None:
        self.steps -= 1
        if self.steps < 0:
            raise self.error

    def create(self, path: Path, mode: int) -> int:
        self._step()
        return super().create(path, mode)

    def write(self, handle: int, data: memoryview) -> int:
        self._step()
        return super().write(handle, data[:1500])

    def force(self, handle: int) -> None:
        self._step()
        super().force(handle)

    def replace(self, new: Path, old: Path) -> None:
        self._step()
        super().replace(new, old)

    def force_folder(self, folder: Path) -> None:
        self._step()
        super().force_folder(folder)


def test_killed_at_any_step(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    states = []
    for steps in range(20):
        write_atomic(path, OLD)
        try:
            write_atomic(path, NEW, disk=Dying(steps, Killed()))
        except Killed:
            states.append(path.read_bytes())
        else:
            break
    assert path.read_bytes() == NEW
    # create, four writes, force, replace: the old file until then; force_folder: the new one.
    assert states == [OLD] * 7 + [NEW]
    left = sorted(p.name for p in tmp_path.iterdir())
    assert left[0] == "job.yaml"
    assert all(name.endswith(".part") for name in left[1:])
    remove_leftovers(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["job.yaml"]


@pytest.mark.parametrize("steps", range(7))
def test_a_full_disk_leaves_nothing_half_written(tmp_path: Path, steps: int) -> None:
    path = tmp_path / "job.yaml"
    write_atomic(path, OLD)
    with pytest.raises(OSError, match="No space"):
        write_atomic(path, NEW, disk=Dying(steps, OSError(errno.ENOSPC, "No space")))
    assert [p.name for p in tmp_path.iterdir()] == ["job.yaml"]
    assert path.read_bytes() == OLD


def test_a_full_disk_leaves_all_of_several_files_as_they_were(tmp_path: Path) -> None:
    first, second = tmp_path / "door-D1.svg", tmp_path / "door-D2.svg"
    write_atomic(first, OLD)
    # Creating, four writes and forcing, for each of them; then the first old one goes.
    for step in range(2 * 6):
        with pytest.raises(OSError, match="No space") as told:
            write_all(
                {first: NEW, second: NEW}, disk=Dying(step, OSError(errno.ENOSPC, "No space"))
            )
        assert told.value.filename == str(first if step < 6 else second)
        assert [p.name for p in tmp_path.iterdir()] == ["door-D1.svg"]
        assert first.read_bytes() == OLD
    write_all({first: NEW, second: NEW})
    assert first.read_bytes() == second.read_bytes() == NEW


def test_an_old_file_keeps_its_permissions_and_a_link_stays(tmp_path: Path) -> None:
    path, link = tmp_path / "job.yaml", tmp_path / "link.yaml"
    path.write_bytes(OLD)
    path.chmod(0o640)
    link.symlink_to(path)
    write_atomic(link, NEW)
    assert link.is_symlink()
    assert path.read_bytes() == NEW
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


@pytest.mark.skipif(sys.platform == "win32", reason="no pipe has a name there")
def test_a_pipe_is_no_file_to_be_replaced(tmp_path: Path) -> None:
    """As a device would be gone for everybody else."""
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to("pipe")
    for name in ("pipe", "link"):
        with pytest.raises(OSError, match="a pipe") as told:
            write_all({tmp_path / "first": NEW, tmp_path / name: NEW})
        assert told.value.filename == str(tmp_path / name)
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)
    assert sorted(os.listdir(tmp_path)) == ["link", "pipe"]


def test_a_new_file_gets_the_mode_asked_for(tmp_path: Path) -> None:
    umask = os.umask(0o022)
    try:
        write_atomic(tmp_path / "a", NEW)
        write_atomic(tmp_path / "b", NEW, mode=PRIVATE)
    finally:
        os.umask(umask)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o644
    assert stat.S_IMODE((tmp_path / "b").stat().st_mode) == 0o600


KEPT = "manual.download.part"
"""A browser's, and no save of ours: it ends in eight letters too."""


def test_only_leftovers_of_saves_are_removed(tmp_path: Path) -> None:
    for name in ("job.yaml", "my.part", "job.yaml.0a1b2c3d.part", "photo.part.jpg", KEPT):
        (tmp_path / name).write_bytes(OLD)
    remove_leftovers(tmp_path)
    kept = ["job.yaml", KEPT, "my.part", "photo.part.jpg"]
    assert sorted(p.name for p in tmp_path.iterdir()) == kept


@pytest.mark.parametrize("step", range(4))
def test_a_full_disk_names_the_file_that_was_to_be_written(tmp_path: Path, step: int) -> None:
    """The system's own error of a write names none, and that of a new file one that goes again."""
    path = tmp_path / "papers.pdf"
    with pytest.raises(OSError) as told:  # noqa: PT011  # the file is what is looked at
        write_atomic(path, OLD, disk=Dying(step, OSError(errno.ENOSPC, "No space left on device")))
    assert told.value.filename == str(path)
    assert told.value.errno == errno.ENOSPC
    assert list(tmp_path.iterdir()) == []
