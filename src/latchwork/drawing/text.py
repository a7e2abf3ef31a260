"""Text in a drawing: cleaned of what no file may hold, measured, shortened to fit."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from latchwork.drawing.sheet import Anchor, Box, Label, Point, Role

MONO_EM = 0.635
"""Width of a figure or letter of the fixed-width face, in ems; the widest of the family list."""

_UNFIT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff"
    "\u202a-\u202e\u2066-\u2069]"
)
_SPACE = re.compile(r"\s+")
_MONO_TOO = frozenset("−–—…×→²³ΩμµØ°·")
_ZERO = {"Mn", "Me", "Cf"}
_NARROW = frozenset("iIljtf.,:;'|!()[]/ ")
_BROAD = frozenset("mwMWOQ@%&—…")

SIZES = {
    Role.SHEET: 17.0,
    Role.ZONE: 10.0,
    Role.DEVICE: 12.0,
    Role.IDENT: 9.0,
    Role.PART: 10.0,
    Role.NOTE: 10.0,
    Role.TERMINAL: 10.5,
    Role.CORE: 9.5,
    Role.TABLE: 10.0,
}
_MONO = {Role.IDENT, Role.TERMINAL, Role.CORE}
_BOLD = {Role.SHEET, Role.DEVICE}


def clean(text: str) -> str:
    """One line without what an XML file may not hold, or what turns the direction of the text
    after it (both shown as U+FFFD)."""
    return _SPACE.sub(" ", _UNFIT.sub("\ufffd", text)).strip()


@lru_cache(maxsize=4096)
def _em(char: str) -> float:
    """The width of a character in ems, rather too wide than too narrow."""
    if char in _NARROW:
        return 0.36
    if char in _BROAD:
        return 0.95
    if char.isascii():
        return 0.62 if not char.isupper() else 0.72
    if unicodedata.category(char) in _ZERO:
        return 0.0
    if char >= "\U0001f000":
        return 1.3  # emoji
    if unicodedata.east_asian_width(char) in "WF":
        return 1.06
    return 0.8


@lru_cache(maxsize=8192)
def width(text: str, size: float, mono: bool = False, bold: bool = False) -> float:
    """The room a text takes, in units."""
    if mono:
        # Other scripts come from other faces, which are not of that fixed width.
        return size * sum(MONO_EM if c < "\u0590" or c in _MONO_TOO else _em(c) for c in text)
    return sum(_em(c) for c in text) * size * (1.06 if bold else 1.0)


@lru_cache(maxsize=4096)
def fit(text: str, size: float, room: float, mono: bool = False, bold: bool = False) -> str:
    """The text, or as much of its beginning as fits, with an ellipsis."""
    if width(text, size, mono, bold) <= room:
        return text
    left = room - width("…", size, mono, bold)
    kept: list[str] = []
    for char in text:
        left -= width(char, size, mono, bold)
        if left < 0:
            break
        kept.append(char)
    # Marks and joiners bind what stands before them; an end cut between shows a broken glyph.
    while kept and (kept[-1] in "\u200d\ufe0f" or kept[-1].isspace()):
        kept.pop()
    return "".join(kept) + "…"


def label(
    text: str,
    at: Point,
    role: Role,
    room: float,
    *,
    anchor: Anchor = Anchor.START,
    strong: str = "",
    size: float = 0.0,
    end: str = "",
) -> Label:
    """A text of that role, shortened to ``room``; ``strong`` is kept whole, and ``end``, with which
    the text ends."""
    size = size or SIZES[role]
    mono, bold = role in _MONO, role in _BOLD
    whole = clean(text)
    taken = strong_width(strong, size) if whole else width(strong, size, mono=True)
    room = max(room - taken, 0.0)
    shown = fit(whole, size, room, mono, bold)
    if end and shown != whole:
        left = room - width(end, size, mono, bold)
        shown = fit(whole.removesuffix(end), size, max(left, 0.0), mono, bold) + end
    if shown == "…" and strong:
        shown = ""
    long = taken + width(shown, size, mono, bold)
    return Label(
        shown,
        at,
        role,
        size,
        box_of(at, long, size, anchor),
        anchor,
        strong,
        mono,
        whole if shown != whole else "",
    )


def strong_width(strong: str, size: float) -> float:
    """The room of a bold piece and the space between it and the text beside it."""
    return width(strong, size, mono=True) + MONO_EM * size if strong else 0.0


def box_of(at: Point, long: float, size: float, anchor: Anchor) -> Box:
    """The rectangle of a line of text."""
    x, y = at
    if anchor is Anchor.END:
        x -= long
    elif anchor is Anchor.MIDDLE:
        x -= long / 2
    return (x, y - 0.78 * size, x + long, y + 0.24 * size)
