"""Facts that nothing is made of say so where people look them up."""

from __future__ import annotations

from pathlib import Path

import latchwork
from latchwork.job.facts import DOOR_FACTS, KEPT, SITE_FACTS

NOT_USES = ("job/facts.py", "job/changes/plain.py")
"""They name facts, or have the same words for other things."""


def test_a_fact_is_used_or_said_to_be_kept_only() -> None:
    root = Path(latchwork.__file__).parent
    files = [f for f in root.rglob("*.py") if not f.as_posix().endswith(NOT_USES)]
    source = "\n".join(f.read_text(encoding="utf-8") for f in files)
    for name, field in {**SITE_FACTS, **DOOR_FACTS}.items():
        assert (f'"{name}"' in source) is (KEPT not in field.help), name
