"""Help is quick, exit codes are kept, and nothing ends in a traceback."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from latchwork.cli import main as entry
from latchwork.cli.command import INTERNAL, INTERRUPTED, VERBS, told
from latchwork.cli.problems import UNUSABLE
from latchwork.words import say
from tests.cli.calling import call, job_in

HEAVY = ("numpy", "yaml", "rich", "cryptography", "msgspec", "openpyxl")


def python(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)


def test_help_lists_every_verb_in_the_order_of_the_job() -> None:
    result = call("--help")
    assert result.exit_code == 0
    listed = result.output.partition("Commands:")[2].split("\n")
    assert [line.split()[0] for line in listed if line.strip()] == list(VERBS)


def test_help_loads_nothing_heavy() -> None:
    done = python(
        "import sys\n"
        "sys.argv = ['latchwork', '--help']\n"
        "from latchwork.cli import main\n"
        "try:\n    main()\n"
        "except SystemExit:\n    pass\n"
        f"sys.exit(', '.join(set({HEAVY}) & set(sys.modules)))"
    )
    assert done.stderr.strip() == ""


def test_python_m_latchwork_is_the_command() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "latchwork", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("latchwork, version ")


def test_a_mistake_of_ours_is_told_without_its_text(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(**_: object) -> None:
        raise KeyError("4711 is the code of somebody")

    monkeypatch.setattr("latchwork.cli.command.latchwork", broken)
    with pytest.raises(SystemExit) as ended:
        entry()
    assert ended.value.code == INTERNAL == 3
    shown = capsys.readouterr()
    assert "Traceback" not in shown.err
    assert "4711" not in shown.err + shown.out
    assert "KeyError" in shown.err
    assert "cli/command.py:" in shown.err


def test_only_places_of_ours_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(ValueError, match="invalid literal") as caught:
        int("nothing of ours")
    assert told(caught.value) == INTERNAL
    assert Path(__file__).name not in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments",
    [["chek"], ["check"], ["check", "x", "--situation", "mains"], ["parts", "--job", "nowhere"]],
)
def test_a_call_that_cannot_be_used_ends_with_2(arguments: list[str]) -> None:
    assert call(*arguments).exit_code == 2


def test_an_unknown_verb_is_told_with_the_nearest() -> None:
    assert "found chek, expected a verb; the nearest is check" in call("chek").stderr
    assert f"one of: {', '.join(VERBS)}" in call("xyzzy").stderr


def test_a_closed_pipe_is_no_mistake(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    done = subprocess.run(
        f"{sys.executable} -m latchwork check {job} | head -n 1",
        shell=True,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr == ""
    assert done.stdout.strip() == "Sample house"


def test_marks_that_an_encoding_lacks_do_not_stop_it(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    done = subprocess.run(
        [sys.executable, "-m", "latchwork", "check", str(job)],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert b"Sample house" in done.stdout


@pytest.mark.parametrize("arguments", [["check"], ["faults", "--no-attacks"], ["parts", "--job"]])
def test_a_full_disk_is_told_and_is_no_mistake(tmp_path: Path, arguments: list[str]) -> None:
    job = job_in(tmp_path / "job")
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "latchwork", *arguments, str(job)],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == UNUSABLE == 2
    assert done.stderr == say("unwritten", {"why": os.strerror(errno.ENOSPC)}) + "\n"


@pytest.mark.parametrize("arguments", [["check"], ["schedules"], ["questions"]])
def test_a_reader_that_has_read_enough_is_no_file_that_is_wrong(
    tmp_path: Path, arguments: list[str]
) -> None:
    read, write = os.pipe()
    os.close(read)
    job = job_in(tmp_path / "job")
    try:
        done = subprocess.run(
            [sys.executable, "-m", "latchwork", *arguments, str(job)],
            stdout=write,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    finally:
        os.close(write)
    assert "found" not in done.stderr
    assert "Traceback" not in done.stderr


def test_an_interrupt_waits_until_an_import_is_done() -> None:
    """Ctrl-C as the first module that takes time begins to be imported: neither a traceback nor a
    module that is half there."""
    done = python(
        "import signal, sys\n"
        "class Interrupts:\n"
        "    def find_spec(self, name, *_):\n"
        "        if name == 'click':\n"
        "            signal.raise_signal(signal.SIGINT)\n"
        "sys.meta_path.insert(0, Interrupts())\n"
        "sys.argv = ['latchwork', 'parts', 'strike']\n"
        "from latchwork.cli import main\n"
        "main()\n"
    )
    assert (done.returncode, done.stderr) == (INTERRUPTED, say("interrupted") + "\n")


def test_an_interrupted_command_does_not_end_as_if_it_had_found_something(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("latchwork.papers.source.finish", stop)
    out = tmp_path / "out.pdf"
    result = call("papers", job_in(tmp_path / "job"), "--service", "--out", out)
    assert result.exit_code == INTERRUPTED == 130
    assert result.stderr == say("interrupted") + "\n"
    assert not out.exists()


def test_an_interrupt_while_a_call_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """It ended with 1, as if something had been found, and "Aborted!"."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("latchwork.cli.command.Verbs.parse_args", stop)
    result = call("parts", "strike")
    assert (result.exit_code, result.stderr) == (INTERRUPTED, say("interrupted") + "\n")


def test_a_sign_is_there_before_what_does_the_work_has_been_read_in(tmp_path: Path) -> None:
    """On a terminal, and gone before anything is told. To read in takes a second on a slow
    machine."""
    done = python(
        "import sys\n"
        "class Terminal:\n"
        "    def isatty(self): return True\n"
        "    def flush(self): pass\n"
        "    def write(self, text): said.append((text, 'numpy' in sys.modules))\n"
        "said, sys.stderr = [], Terminal()\n"
        "from latchwork.cli.command import latchwork\n"
        "try:\n"
        f"    latchwork(['check', {str(tmp_path)!r}])\n"
        "except SystemExit:\n"
        "    print(*said[:2])"
    )
    first, last = ("\r\x1b[K…", False), ("\r\x1b[K", True)
    assert done.stdout == f"{first} {last}\n"
