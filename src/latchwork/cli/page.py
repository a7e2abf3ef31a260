"""A page of text: marks, words that wrap, columns that line up; readable without colour."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import unicodedata
from collections.abc import Iterable

import click

NARROWEST, WIDEST = 80, 120
NARROWEST_TEXT, LEAST_TEXT = 44, 24
"""Of texts: a phone breaks what is wider within words. Tables need their columns all the same."""
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:[kM]?Ω|m?[VA]|Ah|W|kg|mm²?|m|ft|in|h|s|°[CF]|AWG)(?!\w))")
"""Between a figure and its unit, where no line ends."""
_KEPT = "\0"
_PLAIN = re.compile(r"[\w@%+=:,./-]+")
"""What no shell takes for anything but itself."""

_TINTS = {
    "danger": {"fg": "red", "bold": True},
    "insecure": {"fg": "magenta", "bold": True},
    "fails": {"fg": "red"},
    "weak": {"fg": "yellow"},
    "note": {"fg": "cyan"},
    "quiet": {"dim": True},
    "head": {"bold": True},
}


def tinted(text: str, tint: str) -> str:
    """``text`` in the tint of a severity, quiet, or as a heading; taken out again when piped."""
    style = _TINTS.get(tint)
    return click.style(text, **style) if style and text.strip() else text  # type: ignore[arg-type]  # click words


def cells(text: str) -> int:
    """How many columns of a terminal ``text`` takes."""
    if text.isascii():
        return len(text)
    wide = ("W", "F")
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in wide else 1
        for c in text
    )


def fitted(text: str, width: int) -> str:
    """``text`` in exactly ``width`` columns, cut with … where it is longer."""
    if cells(text) > width:
        text = _head(text, width - 1) + "…"
    return text + " " * (width - cells(text))


def _head(text: str, width: int) -> str:
    """As much of the front of ``text`` as ``width`` columns hold, one character at least."""
    taken = 0
    for n, c in enumerate(text):
        taken += cells(c)
        if taken > width:
            return text[: max(n, 1)]
    return text


def printable(text: str) -> str:
    """``text`` without what would steer a terminal: control characters and whatever begins a line
    show as U+XXXX."""
    steers = ("Cc", "Cf", "Zl", "Zp")
    return "".join(
        c if unicodedata.category(c) not in steers or c == "\u200d" else f"U+{ord(c):04X}"
        for c in text
    )


def typed(word: object) -> str:
    """A word of a command that is printed to be typed: in quotes where a shell wants them."""
    text = printable(str(word))
    if os.name == "nt":
        return text if re.fullmatch(r"[\w@+:./\\-]+", text) else f'"{text}"'
    return text if _PLAIN.fullmatch(text) else shlex.quote(text)


class Page:
    """Lines of text for a terminal of a given width; 80 columns when piped."""

    def __init__(self, width: int | None = None) -> None:
        found = width or shutil.get_terminal_size((80, 24)).columns
        self.width = min(max(found, NARROWEST), WIDEST)
        self.reach = min(max(found, NARROWEST_TEXT), WIDEST)
        """How wide texts are, and tables of few columns."""
        self._lines: list[str] = []

    def line(self, text: str = "") -> None:
        """One line as it is."""
        self._lines.append(text.rstrip())

    def head(self, title: str) -> None:
        """A heading; one that is too long, as with a long name, on several lines."""
        for part in [title] if cells(title) <= self.width else wrap(title, self.width):
            self.line(tinted(part, "head"))

    def flow(self, parts: Iterable[str]) -> None:
        """Parts with a dot between them, each whole, on as many lines as they need."""
        line = ""
        for part in parts:
            longer = joined((line, part))
            if line and cells(click.unstyle(longer)) > self.reach:
                self.line(line)
                longer = part
            line = longer
        self.line(line)

    def section(self, title: str) -> None:
        """A heading over a rule."""
        if self._lines:
            self.line()
        self.head(title)
        self.line(tinted("─" * self.reach, "quiet"))

    def hang(self, label: str, text: str, at: int, tint: str = "", label_tint: str = "") -> None:
        """``label``, then ``text`` wrapped between column ``at`` and the edge."""
        head = label + " " * max(at - cells(label), 1 if label else 0)
        room = max(self.reach - max(at, cells(head)), LEAST_TEXT)
        wrapped = wrap(printable(text), room) or [""]
        self.line(tinted(head, label_tint) + tinted(wrapped[0], tint))
        for more in wrapped[1:]:
            self.line(" " * at + tinted(more, tint))

    def text(self) -> str:
        """The page."""
        return "\n".join(self._lines)


def wrap(text: str, width: int) -> list[str]:
    """``text`` in lines of at most ``width`` columns, broken at spaces where there are any, but for
    those between a figure and its unit."""
    lines: list[str] = []
    line = ""
    for word in _BEFORE_UNIT.sub(_KEPT, text).split():
        while cells(word) > width:
            if line:
                lines.append(line)
                line = ""
            head = _head(word, width)
            lines.append(head)
            word = word[len(head) :]
        longer = f"{line} {word}" if line else word
        if cells(longer) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [each.replace(_KEPT, " ") for each in (*lines, line) if each]


def joined(parts: Iterable[str]) -> str:
    """Parts of one line with a dot between them."""
    return " · ".join(part for part in parts if part)
