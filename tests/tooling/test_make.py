"""The Makefile's targets, the build script, and the option for slow outside references."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import bench
import checks
import steps
from _measure import measured, report

TARGETS = ["help", "setup", "demo", "check", "test", "test-all", "format", "lock", "bench", "clean"]


def make(*arguments: str) -> str:
    """What make prints, called as from a shell even when the tests run under make."""
    env = {name: value for name, value in os.environ.items() if not name.startswith("MAKE")}
    result = subprocess.run(
        ["make", *arguments], cwd=steps.ROOT, env=env, capture_output=True, text=True, check=True
    )
    return result.stdout


def test_make_alone_lists_every_target() -> None:
    listed = [line.split()[1] for line in make().splitlines()]
    assert listed == TARGETS


@pytest.mark.parametrize("target", TARGETS)
def test_a_target_runs_only_scripts_that_exist(target: str) -> None:
    plan = make("--dry-run", target)
    named = [word for word in plan.split() if word.startswith("scripts/")]
    assert all((steps.ROOT / name).is_file() for name in named)
    assert plan.strip()


def test_the_build_is_make_test_after_its_own_set_up() -> None:
    build = steps.ROOT / ".ci" / "run"
    assert os.access(build, os.X_OK)
    assert "make test" in build.read_text()
    plan = make("--dry-run", "test")
    wanted = ["setup.py --tests", "system_packages.py", "checks.py", "pytest"]
    places = [plan.index(each) for each in wanted]
    assert places == sorted(places)


def test_an_unknown_check_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert checks.main(["astrology"]) == 2
    assert "words" in capsys.readouterr().err


def pytest_in(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run pytest in `folder` with this project's conftest.py and a fast and a slow test."""
    (folder / "conftest.py").write_text((steps.ROOT / "tests" / "conftest.py").read_text())
    (folder / "pytest.ini").write_text("[pytest]\nmarkers = slow_oracle\n")
    (folder / "test_it.py").write_text(
        "import pytest\ndef test_fast(): pass\n@pytest.mark.slow_oracle\ndef test_slow(): pass\n"
    )
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("workers", [[], ["-n", "1"]])
def test_slow_references_are_left_out_and_counted(tmp_path: Path, workers: list[str]) -> None:
    output = pytest_in(tmp_path, *workers).stdout
    assert "slow tests left out: 1 " in output
    assert "1 passed" in output.splitlines()[-1]


def test_slow_references_run_when_asked_for(tmp_path: Path) -> None:
    output = pytest_in(tmp_path, "--slow-oracles").stdout
    assert "left out" not in output
    assert "2 passed" in output.splitlines()[-1]


def test_no_test_run_is_a_failure(tmp_path: Path) -> None:
    assert pytest_in(tmp_path, "-k", "slow").returncode == 5


def test_a_benchmark_must_close_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "good.py").write_text('print("noise")\nprint(\'{"name": "good", "x_s": 1}\')\n')
    (tmp_path / "mute.py").write_text('print("noise")\n')
    (tmp_path / "bad.py").write_text('print(\'{"name": "bad"}\')\nraise SystemExit(1)\n')
    (tmp_path / "_shared.py").touch()
    assert bench.names(tmp_path) == ["bad", "good", "mute"]
    assert [bench.run(name, tmp_path) for name in ("good", "mute", "bad")] == [0, 1, 1]


def test_an_unknown_benchmark_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert bench.main(["astrology"]) == 2
    assert "start" in capsys.readouterr().err


def test_memory_is_that_of_the_whole_process_tree() -> None:
    hold = "x = bytearray(100_000_000); import time; time.sleep(0.3)"
    tree = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {hold!r}])"
    run = measured([sys.executable, "-c", tree])
    assert run.exit_code == 0
    assert 100 < run.peak_rss_mb < 200
    assert run.seconds > 0.3


def test_a_report_is_a_benchmark_closing_line(capsys: pytest.CaptureFixture[str]) -> None:
    report("sample", some_s=0.123456, count=12345)
    line = capsys.readouterr().out.strip()
    assert line == '{"name": "sample", "some_s": 0.1235, "count": 12345}'
    assert bench.is_result(line, "sample")
