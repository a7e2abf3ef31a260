"""The words that people write about a part, and what each one takes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from latchwork.quantities import BY_SYMBOL


class Least(StrEnum):
    """How low a figure may be."""

    ANY = "any"
    ZERO = "zero or more"
    ABOVE_ZERO = "above zero"


class Takes(StrEnum):
    """What stands behind a word."""

    FIGURE = "a number with its unit"
    CHOICE = "one of a few words"
    YES_NO = "yes or no"
    COUNT = "a whole number"
    TEXT = "words"


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a kind: the field it fills, the SI unit of a figure ("" for settings), a help.

    ``field`` carries the unit in its name ("surely_hold_v"). A ``*`` in the word and in the field
    stands for a name ("output * fuse").
    """

    field: str
    unit: str
    help: str
    takes: Takes = Takes.FIGURE
    choices: tuple[str, ...] = ()
    least: Least = Least.ABOVE_ZERO
    most: float = 1e9
    """No figure of a part is larger, in any unit."""

    def wants(self) -> str:
        """What must stand behind the word, for a message."""
        if self.takes is Takes.FIGURE:
            dimension = BY_SYMBOL[self.unit]
            return f"a {dimension.name}, such as {dimension.example}"
        if self.choices:
            return "one of: " + ", ".join(self.choices)
        return self.takes.value


def figure(
    field: str, unit: str, help_: str, least: Least = Least.ABOVE_ZERO, most: float = 1e9
) -> Word:
    """A word that takes a figure, above zero unless ``least`` says otherwise, up to ``most``."""
    return Word(field, unit, help_, least=least, most=most)


def choice(field: str, choices: tuple[str, ...], help_: str) -> Word:
    """A word that takes one of ``choices``."""
    return Word(field, "", help_, Takes.CHOICE, choices)


def yes_no(field: str, help_: str) -> Word:
    """A word that takes yes or no."""
    return Word(field, "", help_, Takes.YES_NO)


def count(field: str, help_: str, choices: tuple[str, ...] = ()) -> Word:
    """A word that takes a whole number, one of ``choices`` where there are any."""
    return Word(field, "", help_, Takes.COUNT, choices)


def text(field: str, help_: str) -> Word:
    """A word that takes words."""
    return Word(field, "", help_, Takes.TEXT)
