"""Which texts have room where."""

from __future__ import annotations

from latchwork.drawing.text import width

PT_A_MM = 72.0 / 25.4


def on_one_line(text: str, size_pt: float, room_mm: float, mono: bool = True) -> bool:
    """Whether a text has room on one line: a row whose texts have is laid out but once."""
    return width(text, size_pt, mono=mono) <= room_mm * PT_A_MM
