"""Writing the demo's two jobs into a folder, over nothing that is not the demo's own."""

from __future__ import annotations

import hashlib
import json
from importlib import resources
from pathlib import Path

from latchwork.folder import JOB_FILE, write_all
from latchwork.tree import read_whole

DRAFT, MENDED = "draft", "mended"
MARK = ".latchwork-demo"
"""Holds the hash of each job file as it was written, so that a changed one is left alone."""


class NotOurs(Exception):
    """A file stands in the way that the demo did not write, or that was changed since."""

    def __init__(self, file: Path) -> None:
        super().__init__(str(file))
        self.file = file


def write_demo(folder: Path) -> tuple[Path, Path]:
    """Write the draft and the mended job below ``folder``; their folders.

    Raises NotOurs before anything is written, OSError.
    """
    written = _written(folder)
    jobs = {name: _text(name) for name in (DRAFT, MENDED)}
    for name, text in jobs.items():
        file = folder / name / JOB_FILE
        if file.exists() and _digest(read_whole(file)) not in (_digest(text), written.get(name)):
            raise NotOurs(file)
    files = {folder / name / JOB_FILE: text for name, text in jobs.items()}
    for file in files:
        file.parent.mkdir(parents=True, exist_ok=True)
    marks = {name: _digest(text) for name, text in jobs.items()}
    write_all({**files, folder / MARK: f"{json.dumps(marks)}\n".encode()})
    return folder / DRAFT, folder / MENDED


def _text(name: str) -> bytes:
    return (resources.files("latchwork.demo") / "data" / name / JOB_FILE).read_bytes()


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _written(folder: Path) -> dict[str, str]:
    """What an earlier run wrote here, as far as the mark can be read."""
    try:
        said = json.loads(read_whole(folder / MARK))
    except (OSError, ValueError):
        return {}
    return said if isinstance(said, dict) else {}
