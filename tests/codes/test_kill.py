"""Killed at any moment, the folder holds the last or the previous state, whole."""

from __future__ import annotations

import os
import random
import signal
import time
from pathlib import Path

import pytest

from latchwork.codes.register import changes as c
from latchwork.codes.store.sealed import Store, open_with_key
from latchwork.folder import Disk
from tests.codes.stores import FITTER, NOW, new_store, quick_stretch

KILLS = 1000


class Killed(BaseException):
    """Passes every ``except`` of the program, as a kill does."""


class Dying(Disk):
    """Stops before the ``steps``-th system call, or in the middle of it where that can be."""

    def __init__(self, steps: int, rng: random.Random) -> None:
        self.left = steps
        self.rng = rng

    def _step(self) -> bool:
        self.left -= 1
        return self.left < 0

    def create(self, path: Path, mode: int) -> int:
        if self._step():
            raise Killed
        return super().create(path, mode)

    def write(self, handle: int, data: memoryview) -> int:
        if self._step():
            super().write(handle, data[: self.rng.randrange(len(data) + 1)])
            raise Killed
        # The system may take less than it is offered; the rest comes with further calls.
        return super().write(handle, data[: self.rng.randrange(1, len(data) + 1)])

    def force(self, handle: int) -> None:
        if self._step():
            raise Killed

    def close(self, handle: int) -> None:
        super().close(handle)

    def replace(self, new: Path, old: Path) -> None:
        if self._step():
            raise Killed
        super().replace(new, old)

    def force_folder(self, folder: Path) -> None:
        if self._step():
            raise Killed

    def remove(self, path: Path) -> None:
        if self._step():
            raise Killed
        super().remove(path)


def people(store: Store) -> list[str]:
    return list(store.register.people)


@pytest.mark.slow_oracle
def test_a_thousand_kills_lose_nothing(tmp_path: Path) -> None:
    """Each kill stops another system call of a save; then the folder is opened and looked at."""
    rng = random.Random(6)
    store = new_store(tmp_path)
    key = store.key()
    saved: list[str] = []
    kills = finished = steps = 0
    while kills < KILLS:
        fresh = f"P{len(saved) + 1}"
        store._disk = Dying(steps, rng)
        try:
            store.commit([c.Person(fresh, "Somebody")], "why", NOW)
            finished += 1
            steps = 0
        except Killed:
            kills += 1
            steps += 1
        store = open_with_key(tmp_path, key)
        assert people(store) in ([*saved], [*saved, fresh]), f"after kill {kills}"
        saved = people(store)
    assert finished > 10
    assert len(list(tmp_path.iterdir())) <= 5, "leftovers do not pile up"


def test_a_kill_in_mid_withdrawal_leaves_it_done_or_not_begun(tmp_path: Path) -> None:
    rng = random.Random(7)
    outcomes = set()
    for steps in range(40):
        folder = tmp_path / str(steps)
        folder.mkdir()
        store = new_store(folder)
        with quick_stretch():
            fitter = store.add_holder("Fitter", FITTER, "why", NOW)
        (folder / "copy").write_bytes((folder / "codes.sealed").read_bytes())
        store._disk = Dying(steps, rng)
        try:
            store.withdraw_holder(fitter, "left", NOW)
            done = True
        except Killed:
            done = False
        again = open_with_key(folder, store.key())
        withdrawn = fitter not in again.register.holders
        assert withdrawn or not done
        assert (folder / "copy").exists() != withdrawn, "opening finishes what was left undone"
        outcomes.add((done, withdrawn))
    assert outcomes == {(True, True), (False, True), (False, False)}


def test_real_kills_lose_nothing(tmp_path: Path) -> None:
    """What a process said it had saved is there after it was killed, and at most one more."""
    rng = random.Random(8)
    key = new_store(tmp_path).key()
    saved = 0
    for _ in range(30):
        ours, theirs = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                store = open_with_key(tmp_path, key)
                while True:
                    name = f"P{len(store.register.people) + 1}"
                    store.commit([c.Person(name, "Somebody")], "why", NOW)
                    os.write(theirs, b".")
            finally:
                os._exit(1)
        os.close(theirs)
        for _ in range(rng.randrange(1, 4)):
            assert os.read(ours, 1) == b".", "the child failed by an error of its own"
            saved += 1
        time.sleep(rng.uniform(0, 0.004))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        while os.read(ours, 1):
            saved += 1
        os.close(ours)
        found = len(people(open_with_key(tmp_path, key)))
        assert found in (saved, saved + 1)
        saved = found
