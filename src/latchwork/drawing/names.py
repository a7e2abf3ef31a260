"""Names of files for drawings."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping


def file_names(doors: Iterable[str]) -> Mapping[str, str]:
    """By door the name of its drawing's file, without what comes after the dot.

    Two that a disk takes for one, as D1 and d1 where capitals do not count, get a number.
    ``doors``: all of the job, so that a door has the same name whichever are drawn.
    """
    found: dict[str, str] = {}
    taken: set[str] = set()
    for door in doors:
        name, n = f"door-{door}", 1
        while _folded(name) in taken:
            n += 1
            name = f"door-{door}-{n}"
        taken.add(_folded(name))
        found[door] = name
    return found


def _folded(name: str) -> str:
    """What such a disk tells names apart by."""
    return unicodedata.normalize("NFC", name.casefold())
