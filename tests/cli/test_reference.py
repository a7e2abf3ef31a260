"""What is generated of the documents is what the program says now."""

from __future__ import annotations

from pathlib import Path

import pytest

import reference
from latchwork.cli.command import VERBS


@pytest.mark.parametrize("path", reference.files(), ids=lambda path: path.name)
def test_generated_documents_are_up_to_date(path: Path) -> None:
    written = path.read_text(encoding="utf-8")
    assert written == reference.files()[path], "run: python scripts/reference.py"


def test_every_verb_is_in_the_reference() -> None:
    text = reference.cli_reference()
    assert all(f"\n## latchwork {verb}\n" in text for verb in VERBS)
