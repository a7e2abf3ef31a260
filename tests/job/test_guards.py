"""Files that no job file should be: each refused with one line, quickly, never a traceback."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
import yaml

from latchwork.job import JobErrors, Problem, read_job, read_job_text
from latchwork.tree import read as tree
from latchwork.tree.read import MAX_BYTES, MAX_DEPTH, MAX_NODES, read_tree
from tests.job.samples import EVERYTHING, HEAD
from tests.job.test_traps import REFUSED


def refused(path: Path) -> Problem:
    with pytest.raises(JobErrors) as caught:
        read_job(path)
    return caught.value.problems[0]


def refused_text(text: str) -> Problem:
    with pytest.raises(JobErrors) as caught:
        read_job_text(text, "job.yaml")
    return caught.value.problems[-1]


def test_no_file(tmp_path: Path) -> None:
    assert refused(tmp_path / "job.yaml").code == "file.missing"
    assert refused(tmp_path).code == "file.unreadable"


@pytest.mark.parametrize(
    ("data", "code", "found"),
    [
        (b"", "file.empty", "nothing"),
        (b"# only a comment\n", "file.empty", "nothing"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "file.not-utf-8", "0x89"),
        ("latchwork: 1\n".encode("utf-16"), "file.not-utf-8", "0xFF"),
        ("site: {name: Töpferei}\n".encode("latin-1"), "file.not-utf-8", "0xF6"),
        (b"latchwork: 1\x00\n", "file.control-character", "U+0000"),
        (b"latchwork: 1\n\x07\n", "file.control-character", "U+0007"),
        (b"just a text\n", "file.root", "just a text"),
        (b"- a\n- b\n", "file.root", "a list"),
        (b"*a\n", "yaml.anchor", "*a"),
    ],
)
def test_junk(tmp_path: Path, data: bytes, code: str, found: str) -> None:
    path = tmp_path / "job.yaml"
    path.write_bytes(data)
    problem = refused(path)
    assert problem.code == code
    assert found in problem.found
    assert problem.file == str(path)


def test_the_line_of_a_bad_byte(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_bytes(b"latchwork: 1\nsite:\n  name: \xff\n")
    assert refused(path).line == 3


def test_a_file_above_the_limit(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    with path.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    assert refused(path).code == "file.too-large"
    assert refused_text("#" * (MAX_BYTES + 1)).code == "file.too-large"
    assert refused_text("# é" + "é" * (MAX_BYTES // 2)).code == "file.too-large"


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? "])
def test_deep_nesting(opening: str) -> None:
    assert refused_text(HEAD + "site: " + opening * 100_000).code in (
        "file.too-deep",
        "yaml.syntax",
        "yaml.indent",
    )
    assert refused_text("".join(f"{' ' * n}a:\n" for n in range(MAX_DEPTH + 2))).code == (
        "file.too-deep"
    )


def test_nesting_up_to_the_limit() -> None:
    inner = "".join(f"{' ' * n}a:\n" for n in range(MAX_DEPTH - 1))
    assert refused_text(inner).code != "file.too-deep"


@pytest.mark.parametrize("char", "\x85\u2028\u2029")
def test_no_line_hides_behind_a_comment(char: str) -> None:
    """The parser begins a line there, as YAML 1.1 did; for YAML 1.2 (5.4, line break characters)
    and in an editor it is still the comment."""
    told = refused_text(f"{HEAD}usual:\n  # ask them{char}  out by: nothing mechanical\n")
    assert (told.code, told.found) == ("file.control-character", f"the character U+{ord(char):04X}")


def test_more_values_than_any_job_has(monkeypatch: pytest.MonkeyPatch) -> None:
    assert MAX_NODES >= 20 * 20_000  # a job of a thousand doors has some sixty thousand
    monkeypatch.setattr(tree, "MAX_NODES", 100)
    problem = refused_text("a: [" + "x," * 100 + "x]")
    assert (problem.code, problem.expected) == ("file.too-large", "at most 100 values")


def test_a_text_longer_than_anybody_writes() -> None:
    text = "+".join(["main red"] * 100_000)
    assert refused_text(f"{HEAD}wiring: [[S1.+, {text}, open]]\n").code == "file.text-too-long"


def test_anchors_cannot_multiply() -> None:
    lines = ["a0: &a0 [x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 30)]
    started = time.process_time()
    assert refused_text("\n".join(lines)).code == "file.too-many"
    assert time.process_time() - started < 5.0


def test_both_parsers_see_the_same_tree(monkeypatch: pytest.MonkeyPatch) -> None:
    """libyaml's parser and PyYAML's own: two readings of one grammar."""
    in_c = read_tree(EVERYTHING, "job.yaml")
    monkeypatch.setattr(tree, "Parser", yaml.Loader)
    assert read_tree(EVERYTHING, "job.yaml") == in_c


@pytest.mark.parametrize("text", [text for text, *_ in REFUSED])
def test_the_parser_in_python_raises_nothing_else(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tree, "Parser", yaml.Loader)
    with pytest.raises(JobErrors):
        read_job_text(HEAD + text, "job.yaml")
