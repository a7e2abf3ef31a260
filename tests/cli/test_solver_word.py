"""What is set of the solver is granted, or told to be none: never taken for a wish come true."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from latchwork.behaviour.compiled import compiles
from tests.cli.calling import call, job_in

SOLVES = [
    ("check",),
    ("check", "--door", "D1"),
    ("schedules",),
    ("papers",),
    ("sizes",),
    ("questions",),
    ("mend", "--all"),
    ("faults",),
    ("faults", "--door", "D1"),
]


@pytest.fixture(autouse=True)
def _asked_anew() -> Iterator[None]:
    compiles.cache_clear()
    yield
    compiles.cache_clear()


@pytest.mark.parametrize("words", SOLVES, ids=" ".join)
def test_an_unknown_solver_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.setenv("LATCHWORK_SOLVER", "nmpy")
    job = job_in(tmp_path / "job")
    verb, *more = words
    result = call(verb, job, *more)
    assert result.exit_code == 2
    assert "LATCHWORK_SOLVER: found nmpy, expected numpy" in result.output
    assert sorted(p.name for p in job.iterdir() if p.is_file()) == ["job.yaml"]


def test_it_is_told_to_programs_and_at_the_demo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LATCHWORK_SOLVER", "NumPy")
    told = json.loads(call("check", job_in(tmp_path / "job"), "--json").stdout)
    assert [p["code"] for p in told["problems"]] == ["setting"]
    assert call("demo", tmp_path / "demo").exit_code == 2


@pytest.mark.parametrize("word", ["numpy", ""])
def test_numpy_and_nothing_are_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, word: str
) -> None:
    monkeypatch.setenv("LATCHWORK_SOLVER", word)
    assert call("check", job_in(tmp_path / "job")).exit_code == 0
