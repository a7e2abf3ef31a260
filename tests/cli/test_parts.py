"""Parts are listed, searched and explained."""

from __future__ import annotations

from pathlib import Path

import msgspec

from latchwork.answers.parts import PartAnswer, PartsAnswer
from latchwork.cli.page import cells
from latchwork.parts import catalogue
from tests.cli.calling import call, job_in


def found(*words: str) -> list[str]:
    answer = msgspec.json.decode(call("parts", "--json", *words).output, type=PartsAnswer)
    assert answer.latchwork_parts == 1
    return [p.name for p in answer.parts]


def test_without_words_everything_is_listed() -> None:
    assert set(found()) == set(catalogue().names())
    assert len(found()) >= 80
    page = call("parts").output
    assert all(name in page for name in catalogue().names())
    assert max(cells(line) for line in page.splitlines()) <= 80


def test_all_words_must_be_there() -> None:
    names = found("strike", "24")
    assert "strike 24 V fail-secure" in names
    assert all("24" in name for name in names)
    assert found("strike", "nothing of the kind") == []
    assert "Try fewer words" in call("parts", "xyzzy").output


def test_parts_made_like_another_are_told_apart() -> None:
    """545 kg hold 545 x 9.80665 = 5345 N, as 24 V magnets of that size do at 0.3 A (common
    practice, no source); what the name or the text beside it says already is not said again."""
    answer = msgspec.json.decode(call("parts", "--json").output, type=PartsAnswer)
    told = {p.name: (*p.lock, p.about) for p in answer.parts}
    assert told["magnet 24 V, large"] == ("fail-safe", "545 kg", "magnetic lock")
    assert told["magnet 12 V, large"] == ("fail-safe", "magnetic lock, 545 kg")
    assert told["strike 24 V fail-safe"] == ("357 kg", "electric strike")
    assert "stays put" not in told["motor lock 12 V fail-secure"]
    assert "stays put" in told["motor lock 24 V"]
    assert told["supply 24 V, 2 A"] == ("low-voltage supply",)
    page = " ".join(call("parts", "magnet 24 V, large").output.split())
    assert page.startswith("magnet 24 V, large 24 V, 0.3 A, fail-safe, 545 kg · magnetic lock")


def test_a_part_is_explained_with_figures_sources_and_terminals() -> None:
    result = call("parts", "--explain", "magnetic lock 24 V", "--json")
    answer = msgspec.json.decode(result.output, type=PartAnswer)
    assert answer.name == "magnet 24 V"
    current = next(f for f in answer.figures if f.word == "current")
    assert (current.low, current.value, current.high) == (0.2375, 0.25, 0.2625)
    assert all(f.source for f in answer.figures)
    page = call("parts", "--explain", "magnetic lock 24 V").output
    assert "common practice, no source" in page
    assert all(f"  {name} " in page for name in answer.terminals)
    assert max(cells(line) for line in page.splitlines()) <= 80


def test_every_part_can_be_explained() -> None:
    for name in catalogue().names():
        result = call("parts", "--explain", name)
        assert result.exit_code == 0, name
        assert result.output.splitlines()[0] == name


def test_an_unknown_part_is_told_with_the_nearest() -> None:
    result = call("parts", "--explain", "magnt 24 V")
    assert result.exit_code == 2
    assert "magnet 24 V" in result.stderr


def test_own_parts_of_a_job_are_listed_too(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    (job / "my-parts.yaml").write_text(
        "parts:\n  mill strike: {like: strike 24 V fail-secure, current: 0.3 A}\n", encoding="utf-8"
    )
    assert "mill strike" in call("parts", "mill", "--job", job).output
    assert "mill strike" not in call("parts", "strike").output
