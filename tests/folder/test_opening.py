"""A job folder opened: what lies in it, or every problem of it."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from latchwork.folder import open_folder, read_parts_lock, write_parts_lock
from latchwork.job import JobErrors
from tests.job.samples import EVERYTHING

PINS = {"version": 1, "parts": {"strike 24 V": {"volts": [21.6, 24.0, 26.4, "µΩ", "assumed"]}}}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "job.yaml").write_text(EVERYTHING, encoding="utf-8")
    return tmp_path


def test_a_folder_or_its_job_file(folder: Path) -> None:
    for path in (folder, folder / "job.yaml"):
        opened = open_folder(path)
        assert opened.path == folder
        assert opened.job_file == folder / "job.yaml"
        assert opened.job.file == str(folder / "job.yaml")
        assert opened.job.site.name == "Millpond pottery"
        assert (opened.my_parts, opened.pinned) == (None, None)


def test_own_parts_and_pinned_figures(folder: Path) -> None:
    (folder / "my-parts.yaml").write_text("my own bolt: {}\n", encoding="utf-8")
    write_parts_lock(folder, PINS)
    opened = open_folder(folder)
    assert opened.my_parts == "my own bolt: {}\n"
    assert opened.my_parts_file.read_text(encoding="utf-8") == opened.my_parts
    assert opened.pinned == PINS


def test_pinning_writes_the_same_bytes_whatever_the_order(folder: Path) -> None:
    write_parts_lock(folder, PINS)
    first = (folder / "parts.lock").read_bytes()
    write_parts_lock(folder, dict(reversed(PINS.items())))
    assert (folder / "parts.lock").read_bytes() == first
    assert "µΩ".encode() in first
    assert first.endswith(b"}\n")


def test_only_plain_data_is_pinned(folder: Path) -> None:
    write_parts_lock(folder, PINS)
    for bad in ({"x": float("nan")}, {"x": float("inf")}):
        with pytest.raises(ValueError, match="Out of range"):
            write_parts_lock(folder, bad)
    assert read_parts_lock(folder) == PINS


@pytest.mark.parametrize(
    ("text", "line"),
    [("{", 1), ("", 1), ("[]", 1), ('{\n"a": NaN}', 0), ("[" * 100_000, 0), ('{"a": 1,\n}', 2)],
)
def test_a_spoilt_parts_lock_is_told(folder: Path, text: str, line: int) -> None:
    (folder / "parts.lock").write_text(text, encoding="utf-8")
    with pytest.raises(JobErrors) as caught:
        open_folder(folder)
    (problem,) = caught.value.problems
    assert (problem.code, problem.line) == ("parts-lock.form", line)
    assert problem.file.endswith("parts.lock")


def test_the_problems_of_all_files_come_together(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text("latchwork: 1\ndoors: x\n", encoding="utf-8")
    (tmp_path / "my-parts.yaml").write_bytes(b"\xff")
    (tmp_path / "parts.lock").write_bytes(b"{")
    with pytest.raises(JobErrors) as caught:
        open_folder(tmp_path)
    assert {p.code for p in caught.value.problems} == {
        "field.shape",
        "file.not-utf-8",
        "parts-lock.form",
    }


@pytest.mark.skipif(sys.platform == "win32", reason="a link needs leave there")
def test_a_link_that_leads_nowhere_is_told(folder: Path) -> None:
    """Own parts on a drive that is not there: by the catalogue's of the same name, volts would be
    others."""
    for name in ("my-parts.yaml", "parts.lock"):
        (folder / name).symlink_to(folder / "elsewhere" / name)
    with pytest.raises(JobErrors) as told:
        open_folder(folder)
    assert [(p.file, p.code) for p in told.value.problems] == [
        (str(folder / name), "file.missing") for name in ("my-parts.yaml", "parts.lock")
    ]


@pytest.mark.skipif(sys.platform == "win32", reason="no pipe has a name there")
def test_a_pipe_in_a_files_place_is_told_and_not_waited_at(tmp_path: Path) -> None:
    names = ("job.yaml", "my-parts.yaml", "parts.lock")
    for name in names:
        os.mkfifo(tmp_path / name)
    with pytest.raises(JobErrors) as told:
        open_folder(tmp_path)
    assert [(p.file, p.found) for p in told.value.problems] == [
        (str(tmp_path / name), "a pipe") for name in names
    ]


def test_a_folder_in_a_files_place_is_told(folder: Path) -> None:
    (folder / "parts.lock").mkdir()
    with pytest.raises(JobErrors) as told:
        open_folder(folder)
    assert [p.found for p in told.value.problems] == ["a folder"]


def test_no_job(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "job.yaml", tmp_path / "no" / "where"):
        with pytest.raises(JobErrors) as caught:
            open_folder(path)
        assert [p.code for p in caught.value.problems] == ["file.missing"]


_PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    # A lone surrogate is no text that could have been written down.
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text("abc µ"), inner, max_size=4)
    ),
    max_leaves=15,
)


@given(st.dictionaries(st.text("abc µ"), _PLAIN))
@settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_is_pinned_is_read_back(tmp_path: Path, data: dict[str, object]) -> None:
    write_parts_lock(tmp_path, data)
    assert read_parts_lock(tmp_path) == data
