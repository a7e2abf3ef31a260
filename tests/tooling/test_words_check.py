"""The words check finds a planted word wherever a user could read it, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

import steps
import words_check

SAID = [
    ("src/latchwork/words/texts.py", 'TEXT = "This door is safe."'),
    ("src/latchwork/words/texts.py", 'TEXT = f"Door {1} is Compliant."'),
    ("src/latchwork/words/texts.py", 'TEXT = f"fail-safe lock, {1} safe"'),
    ("src/latchwork/words/texts.py", 'TEXT = "not fail" "-" "ing: SAFE"'),
    ("src/latchwork/words/texts.py", 'TEXT = "thread-safe"'),
    ("src/latchwork/cli/check.py", 'def check():\n    """Say whether a job is\n    safe."""'),
    ("src/latchwork/parts/data/locks.yaml", "strike:\n  note: compliant with everything"),
    ("src/latchwork/papers/cover.typ", "= Safe door"),
    ("src/latchwork/web/page.html", "<p>{{ name | safe }} is safe</p>"),
    ("README.md", "Doors made safe."),
    ("docs/use.md", "The door is then safe."),
]
UNSAID = [
    (
        "src/latchwork/words/texts.py",
        'TEXT = "fail-safe, Fail-Safe, fail\u2011safe, unsafe, safety"',
    ),
    ("src/latchwork/words/texts.py", 'kind = "strike"\nTEXT = f"a fail-safe {kind}"'),
    ("src/latchwork/words/texts.py", "import yaml\nx = yaml.safe_load  # a safe loader"),
    ("src/latchwork/web/page.html", "<p>{{ drawing | safe }}{{ other|safe }}</p>"),
    ("src/latchwork/web/style.css", "p { margin: env(safe-area-inset-top) }"),
    ("docs/use.md", 'Latchwork never says "safe" or `compliant`.'),
    ("tests/test_it.py", 'TEXT = "safe"'),
]


def plant(root: Path, name: str, text: str) -> None:
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


@pytest.mark.parametrize(("name", "text"), SAID)
def test_a_planted_word_is_found_with_its_file_and_line(
    tmp_path: Path, name: str, text: str
) -> None:
    plant(tmp_path, name, text)
    (found,) = words_check.offences(tmp_path)
    assert found.startswith(f"{name}:{len(text.splitlines())}: ")


@pytest.mark.parametrize(("name", "text"), UNSAID)
def test_what_is_not_said_to_a_user_is_left_alone(tmp_path: Path, name: str, text: str) -> None:
    plant(tmp_path, name, text)
    assert words_check.offences(tmp_path) == []


def test_a_planted_word_fails_the_script(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    plant(tmp_path, *SAID[0])
    monkeypatch.setattr(steps, "ROOT", tmp_path)
    assert words_check.main() == 1
    assert "texts.py:1" in capsys.readouterr().out
