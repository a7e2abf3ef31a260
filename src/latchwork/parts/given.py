"""What a kind is given to build a part from: figures and settings by field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from latchwork.elements import Figure
from latchwork.parts.arithmetic import times

Setting = str | int | bool


class MissingFigure(LookupError):
    """A kind needs a field that neither the catalogue nor the job gives."""

    def __init__(self, field: str) -> None:
        super().__init__(field)
        self.field = field


class Unfit(ValueError):
    """No part has what is said of ``field`` beside the rest that is said of it."""

    def __init__(self, field: str, found: str, expected: str) -> None:
        super().__init__(expected)
        self.field = field
        self.found = found
        self.expected = expected


@dataclass(frozen=True, slots=True)
class Given:
    """The figures (SI, by field with the unit in its name) and settings of one part."""

    name: str
    kind: str
    figures: Mapping[str, Figure]
    settings: Mapping[str, Setting]

    def figure(self, field: str) -> Figure:
        """The figure, or MissingFigure."""
        found = self.figures.get(field)
        if found is None:
            raise MissingFigure(field)
        return found

    def find(self, field: str) -> Figure | None:
        """The figure, or None where nothing is known."""
        return self.figures.get(field)

    def share(self, field: str, share: str, of: str) -> Figure:
        """The figure ``field``, or else the share ``share`` of the figure ``of``."""
        return self.figures.get(field) or times(self.figure(share), self.figure(of))

    def word(self, field: str) -> str:
        """The setting as a word, or MissingFigure."""
        found = self.settings.get(field)
        if found is None:
            raise MissingFigure(field)
        return str(found)

    def yes(self, field: str) -> bool:
        """Whether the setting is yes; unsaid is no."""
        return self.settings.get(field) is True

    def count(self, field: str, default: int) -> int:
        """The setting as a whole number."""
        found = self.settings.get(field, default)
        return int(found)
