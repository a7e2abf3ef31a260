"""Write down which characters the shipped fonts hold, so that a run need not open them.

    python scripts/font_coverage.py          write the list
    python scripts/font_coverage.py --check  exit 1 where the list is not that of the fonts

Each line is a range of code points, first and last, in hexadecimal.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from fontTools.ttLib import TTFont

import steps

FONTS = steps.ROOT / "src" / "latchwork" / "papers" / "fonts"
LIST = FONTS / "coverage.txt"


def covered(fonts: Iterable[Path]) -> set[int]:
    """Code points that at least one of the fonts has a glyph for."""
    found: set[int] = set()
    for path in fonts:
        with TTFont(path, lazy=True) as font:
            found |= set(font.getBestCmap())
    return found


def ranges(points: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Runs of neighbours, first and last."""
    first = last = -2
    for point in sorted(points):
        if point == last + 1:
            last = point
            continue
        if last >= 0:
            yield first, last
        first = last = point
    if last >= 0:
        yield first, last


def text() -> str:
    """The list as it should stand."""
    rows = ranges(covered(sorted(FONTS.glob("*.ttf"))))
    return "".join(f"{first:04X} {last:04X}\n" for first, last in rows)


def main(arguments: list[str]) -> int:
    """Entry point; exit code 0 written or equal, 1 not equal, 2 wrong call."""
    if arguments == ["--check"]:
        return 0 if LIST.read_text(encoding="ascii") == text() else 1
    if arguments:
        print(__doc__, file=sys.stderr)
        return 2
    LIST.write_text(text(), encoding="ascii")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
