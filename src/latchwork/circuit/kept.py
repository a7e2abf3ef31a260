"""Where compiled code is kept: in a folder named after the sources that it was compiled from.

What compiles looks only at the file that a function stands in, and takes no notice of what the
function calls or which constants it reads from elsewhere.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
from functools import lru_cache
from pathlib import Path

PACKAGE = Path(__file__).parent.parent
SOURCES = ("circuit", "behaviour", "elements")
PREFIX = "compiled-"


@lru_cache(maxsize=1)
def folder() -> Path:
    """The folder for these sources, which need not be there."""
    digest = hashlib.sha256()
    for package in SOURCES:
        for source in sorted((PACKAGE / package).glob("*.py")):
            digest.update(source.name.encode() + b"\0" + source.read_bytes())
    return _beside() / f"{PREFIX}{digest.hexdigest()[:16]}"


def made() -> Path:
    """The folder, made where it is not there; those of other sources go."""
    own = folder()
    if not own.is_dir():
        own.mkdir(parents=True, exist_ok=True)
        for other in own.parent.glob(f"{PREFIX}*"):
            if other != own:
                shutil.rmtree(other, ignore_errors=True)
    return own


def _beside() -> Path:
    """Beside the package, where that can be written, else where a user's caches are."""
    beside = PACKAGE / "__pycache__"
    if os.access(beside if beside.is_dir() else PACKAGE, os.W_OK):
        return beside
    if sys.platform == "win32":
        home = Path(os.environ.get("LOCALAPPDATA") or Path.home())
    else:
        home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return home / "latchwork"
