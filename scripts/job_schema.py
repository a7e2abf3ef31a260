"""Writes the JSON Schema of the job file, docs/job.schema.json, from the reader's own tables."""

from __future__ import annotations

import json
from pathlib import Path

from latchwork.job import job_schema

TARGET = Path(__file__).resolve().parent.parent / "docs" / "job.schema.json"


def text() -> str:
    """The schema as the file holds it."""
    return json.dumps(job_schema(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    TARGET.write_text(text(), encoding="utf-8")
