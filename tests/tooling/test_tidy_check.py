"""The tidy check finds this machine's folders and registry addresses in planted files."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

import steps
import tidy_check

# Put together here so that the check passes over this file.
FOUND = [
    ("a machine path", "cd " + "/" + "work/main"),
    ("a machine path", 'open("' + "/" + 'tmp/x")'),
    ("a machine path", "=" + "/" + "home/someone/job"),
    ("a machine path", "'C:" + "\\Users\\someone'"),
    ("a registry address", "https://" + "pypi" + ".org/simple"),
    ("a registry address", "--" + "index" + "-url=x"),
    ("a registry address", "https://files." + "pythonhosted" + ".org/packages"),
    ("a registry address", '"' + 'resolved": "x"'),
]


@pytest.mark.parametrize(("what", "line"), FOUND)
def test_a_planted_line_is_found(tmp_path: Path, what: str, line: str) -> None:
    (tmp_path / "a.txt").write_text(f"one\n{line}\n")
    (found,) = tidy_check.offences(tmp_path, ["a.txt"])
    assert found.startswith(f"a.txt:2: {what}")


@pytest.mark.parametrize(
    "line", ["#!/usr/bin/env bash", "https://example.org/home/page", "a/work/b", "network/root"]
)
def test_an_ordinary_line_is_left_alone(tmp_path: Path, line: str) -> None:
    (tmp_path / "a.txt").write_text(line)
    assert tidy_check.offences(tmp_path, ["a.txt"]) == []


def test_binary_and_deleted_files_pass(tmp_path: Path) -> None:
    (tmp_path / "a.png").write_bytes(b"\0 " + b"/" + b"tmp/x")
    assert tidy_check.offences(tmp_path, ["a.png", "gone.txt"]) == []


def test_what_git_holds_is_checked_and_what_it_ignores_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    subprocess.run(["git", "init", "-q", str(tmp_path)], check=True)
    (tmp_path / ".gitignore").write_text("log\n")
    for name in ("log", "b c.txt"):
        (tmp_path / name).write_text(FOUND[0][1])
    monkeypatch.setattr(steps, "ROOT", tmp_path)
    assert tidy_check.main() == 1
    out = capsys.readouterr().out
    assert "b c.txt:1" in out
    assert "log:1" not in out
