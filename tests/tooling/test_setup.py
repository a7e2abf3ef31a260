"""Setting up: what the stamp covers, what is said on failure, and when the machine may not."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

import setup
import steps
import system_packages
from system_packages import Need


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project's folder with lock files and an empty `.venv`."""
    for name in (*setup.LOCKS.values(), "pyproject.toml"):
        (tmp_path / name).write_text(name)
    (tmp_path / ".venv").mkdir()
    return tmp_path


def stamp(project: Path, kind: str) -> None:
    text = setup.wanted_digest(project, kind)
    (project / ".venv" / f"latchwork-{kind}.stamp").write_text(text)


def test_the_tests_set_serves_a_run_but_not_the_other_way_round(project: Path) -> None:
    venv = project / ".venv"
    assert not setup.is_set_up(project, venv, "run")
    stamp(project, "run")
    assert setup.is_set_up(project, venv, "run")
    assert not setup.is_set_up(project, venv, "tests")
    (venv / "latchwork-run.stamp").unlink()
    stamp(project, "tests")
    assert setup.is_set_up(project, venv, "run")
    assert setup.is_set_up(project, venv, "tests")


@pytest.mark.parametrize("changed", [setup.LOCKS["tests"], "pyproject.toml"])
def test_a_changed_lock_or_project_is_set_up_again(project: Path, changed: str) -> None:
    stamp(project, "tests")
    (project / changed).write_text("changed")
    assert not setup.is_set_up(project, project / ".venv", "tests")


def test_an_interpreter_that_is_missing_or_broken_does_not_count(tmp_path: Path) -> None:
    assert setup.works(Path(sys.executable))
    assert not setup.works(tmp_path / "python")
    broken = tmp_path / "broken"
    broken.write_text("#!/bin/sh\nexit 1\n")
    broken.chmod(0o755)
    assert not setup.works(broken)


def test_an_old_python_is_told_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(setup, "OLDEST", (99, 0))
    assert setup.main([]) == 2
    assert "newer" in capsys.readouterr().err


def test_a_step_shows_its_output_only_when_it_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(steps, "LOGS", tmp_path)
    monkeypatch.setattr(steps, "ROOT", tmp_path)
    assert steps.run("good step", [sys.executable, "-c", "print('chatter')"])
    captured = capsys.readouterr()
    assert captured.out.startswith("good step … ok (")
    assert "chatter" not in captured.out + captured.err
    assert (tmp_path / "good-step.log").read_text().strip() == "chatter"
    assert not steps.run("bad step", [sys.executable, "-c", "print('why'); raise SystemExit(3)"])
    captured = capsys.readouterr()
    assert captured.out.startswith("bad step … FAILED (")
    assert "why" in captured.err
    assert not steps.run("no step", ["there-is-no-such-program"])
    assert "there-is-no-such-program" in capsys.readouterr().err


def test_steps_side_by_side_all_run_and_are_said_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(steps, "LOGS", tmp_path)
    monkeypatch.setattr(steps, "ROOT", tmp_path)
    bad = "print('why'); raise SystemExit(3)"
    good = "import pathlib; pathlib.Path('there').touch()"
    todo = [(name, [sys.executable, "-c", code]) for name, code in (("bad", bad), ("good", good))]
    assert not steps.run_side_by_side(todo)
    captured = capsys.readouterr()
    lines = sorted(line[: line.index("(")] for line in captured.out.splitlines())
    assert lines == ["bad … FAILED ", "good … ok "]
    assert captured.err == "why\n"
    assert (tmp_path / "there").exists()


def test_a_machine_that_may_not_install_prints_the_command_and_exits_2(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(system_packages, "root_prefix", lambda: None)
    here = Need("what is here", lambda: True, "present-package")
    gone = Need("what is gone", lambda: False, "absent-package")
    assert system_packages.main([here]) == 0
    assert capsys.readouterr().err == ""
    assert system_packages.main([here, gone]) == 2
    said = capsys.readouterr().err
    assert "sudo apt-get install absent-package\n" in said
    assert "what is gone" in said
    assert "present-package" not in said


def test_package_lists_are_fetched_only_if_the_first_try_fails(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ran: list[str] = []

    def run(label: str, command: list[str]) -> bool:
        ran.append(command[command.index("apt-get") + 1])
        return len(ran) != 1

    monkeypatch.setattr(system_packages, "root_prefix", lambda: [])
    monkeypatch.setattr(shutil, "which", lambda name: name)
    monkeypatch.setattr(steps, "run", run)
    assert system_packages.apt_install(["some-package"])
    assert ran == ["install", "update", "install"]
    assert system_packages.apt_install(["some-package"])
    assert ran == ["install", "update", "install", "install"]
