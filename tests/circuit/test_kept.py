"""Where compiled code is kept: a change of any source it was compiled from must not go unseen."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from latchwork.circuit import kept


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the package's sources."""
    copy = tmp_path / "latchwork"
    for name in kept.SOURCES:
        shutil.copytree(kept.PACKAGE / name, copy / name)
    monkeypatch.setattr(kept, "PACKAGE", copy)
    kept.folder.cache_clear()
    yield copy
    kept.folder.cache_clear()


def test_a_constant_changed_anywhere_is_another_folder_and_the_old_one_goes(package: Path) -> None:
    first = kept.made()
    assert first.is_dir()
    kept.folder.cache_clear()
    assert kept.folder() == first
    source = package / "circuit" / "walk.py"
    source.write_text(source.read_text("utf-8").replace("REST_V = 1e-8", "REST_V = 2e-8"), "utf-8")
    kept.folder.cache_clear()
    second = kept.made()
    assert second != first
    assert not first.exists()


def test_a_package_that_cannot_be_written_keeps_it_among_the_users_caches(
    package: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda *_: False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    assert kept.made().parent == tmp_path / "caches" / "latchwork"
