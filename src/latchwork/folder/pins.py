"""The pinned figures of a job's parts, in ``parts.lock``: plain data as JSON, always the same bytes
for the same figures."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path

from latchwork.folder.atomic import write_atomic
from latchwork.job import JobErrors, Problem
from latchwork.job.reader import read_text

PARTS_LOCK = "parts.lock"


def read_parts_lock(folder: Path) -> dict[str, object] | None:
    """The pinned data, or None where nothing has been pinned yet.

    Raises JobErrors where the file cannot be read or is not what was written.
    """
    path = folder / PARTS_LOCK
    if not os.path.lexists(path):
        return None
    text = read_text(path)
    try:
        data = json.loads(text, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        raise _refused(path, error.lineno, error.colno, error.msg) from None
    except (ValueError, RecursionError):
        raise _refused(path, 0, 0, "something that was never pinned") from None
    if not isinstance(data, dict):
        raise _refused(path, 1, 1, "no table")
    return data


def write_parts_lock(folder: Path, data: Mapping[str, object]) -> None:
    """Pin the data, whole or not at all. Raises OSError, ValueError for what is no plain data."""
    text = json.dumps(data, indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False)
    write_atomic(folder / PARTS_LOCK, f"{text}\n".encode())


def _no_constant(name: str) -> None:
    raise ValueError(name)


def _refused(path: Path, line: int, column: int, found: str) -> JobErrors:
    expected = "the pinned figures as this program wrote them; take the file from a copy"
    return JobErrors([Problem(str(path), line, column, "", found, expected, "parts-lock.form")])
