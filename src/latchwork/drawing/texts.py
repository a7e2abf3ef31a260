"""The words on a drawing."""

from __future__ import annotations

from latchwork import words


def say(code: str, **parameters: str) -> str:
    """The text of that code, with its parameters in place."""
    return words.say(f"drawing.{code}", parameters)


def known(code: str) -> bool:
    """Whether there is such a text."""
    return words.has(f"drawing.{code}")


def counted(what: str, count: int) -> str:
    """So many of them: "1 door", "2 doors"."""
    return say(f"count.{what}", count=str(count))
