"""The typesetter in a second process: the same bytes, and nothing of it left."""

from __future__ import annotations

import multiprocessing
import subprocess
import sys
from pathlib import Path

import pytest

from latchwork.papers.beside import Typesetter, typesetter
from latchwork.papers.content.source import Source
from latchwork.papers.source import begin
from tests.cli.calling import ONE_DOOR, call, job_in
from tests.papers.made import DAY, source_from

ARGUMENTS = ("--date", DAY.isoformat(), "--out")
WHOLE = """
import sys
from latchwork.cli.command import latchwork
try:
    latchwork(["papers", *sys.argv[1:]])
finally:
    import multiprocessing
    print("typst" in sys.modules, multiprocessing.active_children(), file=sys.stderr)
"""
"""A whole process; at its end whether it set type itself, and who is left."""


def apart(*arguments: object) -> subprocess.CompletedProcess[str]:
    """``papers`` as a whole process."""
    command = [sys.executable, "-c", WHOLE, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    "only",
    [
        "",
        pytest.param("cover,drawings,tests", marks=pytest.mark.slow_oracle),
        "connections,order",
        pytest.param("service", marks=pytest.mark.slow_oracle),
        "emergency",
    ],
)
def test_two_processes_make_what_one_makes(tmp_path: Path, only: str) -> None:
    job = job_in(tmp_path / "job")
    asked = ("--only", only) if only else ()
    one, two = tmp_path / "one.pdf", tmp_path / "two.pdf"
    assert call("papers", job, *asked, *ARGUMENTS, one).exit_code == 0
    done = apart(job, *asked, *ARGUMENTS, two)
    assert done.returncode == 0, done.stderr
    assert done.stderr == f"{sys.platform != 'linux'} []\n"
    assert two.read_bytes() == one.read_bytes()


@pytest.mark.parametrize(
    ("text", "asked", "told"),
    [
        (ONE_DOOR, ("--only", "nothing"), "found nothing, expected"),
        ("latchwork: 1\ndoors: {D1: {lock: nothing like it}}\n", (), "found nothing like it"),
    ],
)
def test_what_is_wrong_is_told_once(
    tmp_path: Path, text: str, asked: tuple[str, ...], told: str
) -> None:
    done = apart(job_in(tmp_path / "job", text), *asked)
    assert done.returncode == 2
    assert (done.stdout + done.stderr).count(told) == 1
    assert done.stderr.endswith("False []\n")


def test_the_two_read_different_code() -> None:
    """Each starts sooner for what it does not read."""
    read = "import sys, {}; print([name for name in {} if name in sys.modules])"
    for mine, others in (
        ("latchwork.papers.pack", ["numpy", "latchwork.behaviour", "latchwork.rules"]),
        ("latchwork.papers.source", ["numpy", "latchwork.drawing.sheet", "latchwork.papers.pack"]),
        ("latchwork.papers.content.source", ["latchwork.drawing.sheet"]),
        ("latchwork.answers.schedules.answer", ["latchwork.drawing.sheet", "typst"]),
    ):
        command = [sys.executable, "-c", read.format(mine, others)]
        assert subprocess.run(command, capture_output=True, text=True).stdout == "[]\n"


def test_the_typesetter_is_sent_all_that_is_known() -> None:
    """But for what it has: a field more of the source is sent like the others, under its name."""
    source = source_from(ONE_DOOR, service=True)[0]
    ours, its = multiprocessing.Pipe()
    its.send_bytes(b"a pack")
    assert Typesetter(ours).pdf(source) == b"a pack"
    assert Source(index=source.index, **its.recv()) == source


def test_a_typesetter_that_was_ended_is_done_without() -> None:
    source, _ = source_from(ONE_DOOR)
    ours, its = multiprocessing.Pipe()
    its.close()
    assert Typesetter(ours).pdf(source) is None


def test_a_process_with_compiled_code_in_it_is_not_doubled(tmp_path: Path) -> None:
    import numpy  # noqa: F401  # what has threads of its own

    with typesetter(begin(job_in(tmp_path / "job")), None, (), DAY) as beside:
        assert beside is None
