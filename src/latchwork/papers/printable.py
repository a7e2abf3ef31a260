"""What the shipped fonts can print; anything else is spelled out as U+XXXX, never left out."""

from __future__ import annotations

import unicodedata
from functools import cache
from importlib import resources
from typing import TypeVar

FONTS = "fonts"
_JOINERS = frozenset(map(ord, "\u200c\u200d\u200e\u200f\ufe0e\ufe0f\n"))
"""Invisible, and needed to shape what stands around them."""

Data = TypeVar("Data")


@cache
def covered() -> frozenset[int]:
    """Code points that can be printed."""
    text = resources.files("latchwork.papers").joinpath(FONTS, "coverage.txt").read_text("ascii")
    found = set(_JOINERS)
    for line in text.splitlines():
        first, last = (int(piece, 16) for piece in line.split())
        found.update(range(first, last + 1))
    return frozenset(found)


@cache
def _shown(char: str) -> str:
    """A character as it prints. Marks that steer the direction of text are spelled out too."""
    known = ord(char) in covered()
    steers = unicodedata.category(char) in ("Cf", "Cc") and ord(char) not in _JOINERS
    if known and not steers:
        return char
    return " " if char.isspace() and not steers else f"U+{ord(char):04X}"


def printable(text: str) -> str:
    """``text`` with what no font holds spelled out. Composed first: fonts hold whole letters."""
    if text.isascii() and text.isprintable():
        return text
    composed = unicodedata.normalize("NFC", text)
    spelled = {ord(c): shown for c in set(composed) if (shown := _shown(c)) != c}
    return composed.translate(spelled) if spelled else composed


def all_printable(data: Data) -> Data:
    """Every text in dicts and lists, made printable."""
    if isinstance(data, str):
        return printable(data)  # type: ignore[return-value]  # a text for a text
    if isinstance(data, dict):
        return {k: all_printable(v) for k, v in data.items()}  # type: ignore[return-value]  # likewise
    if isinstance(data, list | tuple):
        return [all_printable(each) for each in data]  # type: ignore[return-value]  # likewise
    return data
