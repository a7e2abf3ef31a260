"""The kinds of value a field can take: how each is read, and its JSON Schema."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from latchwork.job.notes import Place
from latchwork.quantities import TEMPERATURE, Dimension, Quantity, QuantityError, parse
from latchwork.tree.nodes import Node, Refused, Scalar
from latchwork.tree.yaml_errors import tight_colon

Schema = dict[str, Any]

_YES = {"yes": True, "true": True, "no": False, "false": False}
ABSOLUTE_ZERO_C = -273.15
"""Exact by the definition of the degree Celsius (the SI Brochure)."""
_COUNT = re.compile(r"[0-9]{1,9}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class Kind(Protocol):
    """One kind of value."""

    def read(self, node: Node, place: Place) -> Any:
        """The value, or None after noting why there is none."""

    def schema(self) -> Schema:
        """What a program may know of it beforehand."""


@dataclass(frozen=True, slots=True)
class Text:
    """Any words on one line or more."""

    def read(self, node: Node, place: Place) -> str | None:
        return text_of(node, place, "a text")

    def schema(self) -> Schema:
        # An editor's YAML reader makes numbers of some texts; here they stay what was written.
        return {"type": ["string", "number"]}


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words, each standing for a value."""

    words: Mapping[str, Any]

    def read(self, node: Node, place: Place) -> Any:
        text = text_of(node, place, "one of: " + ", ".join(self.words))
        if text is None:
            return None
        for word, value in self.words.items():
            if word.casefold() == text.casefold():
                return value
        place.unlike(node, self.words, "field.choice")
        return None

    def schema(self) -> Schema:
        return {"enum": [*self.words, "unknown"]}


def words(*choices: str) -> Choice:
    """A choice of words that stand for themselves."""
    return Choice({choice: choice for choice in choices})


@dataclass(frozen=True, slots=True)
class YesNo:
    """yes or no."""

    def read(self, node: Node, place: Place) -> bool | None:
        text = text_of(node, place, "yes or no")
        if text is None:
            return None
        if text.casefold() not in _YES:
            place.wrong(node, "yes or no", "field.yes-no")
            return None
        return _YES[text.casefold()]

    def schema(self) -> Schema:
        return {"enum": [True, False, "yes", "no", "unknown"]}


@dataclass(frozen=True, slots=True)
class Count:
    """A whole number."""

    low: int = 0
    high: int = 999_999_999

    def read(self, node: Node, place: Place) -> int | None:
        expected = f"a whole number from {self.low} to {self.high}"
        text = text_of(node, place, expected)
        if text is None:
            return None
        number = int(text) if _COUNT.fullmatch(text) else -1
        if not self.low <= number <= self.high:
            place.wrong(node, expected, "field.count")
            return None
        return number

    def schema(self) -> Schema:
        number = {"type": "integer", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [number, {"const": "unknown"}]}


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity with its unit. ``per`` and ``unit`` keep it in another unit than SI."""

    dimension: Dimension
    per: float = 1.0
    unit: str = ""

    def read(self, node: Node, place: Place) -> Quantity | None:
        text = text_of(node, place, f"such as {self.dimension.example}")
        if text is None:
            return None
        try:
            found = parse(text, self.dimension)
        except QuantityError as error:
            place.bad_quantity(node, error)
            return None
        if found is not None and below_zero(found, self.dimension, node, place):
            return None
        if found is None or not self.unit:
            return found
        return Quantity(
            found.value / self.per,
            found.low / self.per,
            found.high / self.per,
            self.unit,
            found.certainty,
            found.text,
        )

    def schema(self) -> Schema:
        return {"type": "string"}


def below_zero(found: Quantity, dimension: Dimension, node: Node, place: Place) -> bool:
    """Whether a quantity is below zero that cannot be; noted where it is."""
    least = ABSOLUTE_ZERO_C if dimension is TEMPERATURE else 0.0
    if found.low >= least:
        return False
    zero = "absolute zero" if dimension is TEMPERATURE else "zero"
    expected = f"a {dimension.name} that is not below {zero}, such as {dimension.example}"
    place.wrong(node, expected, "quantity.below-zero", found.text)
    return True


@dataclass(frozen=True, slots=True)
class Day:
    """A date, year first. Quotes are not needed."""

    def read(self, node: Node, place: Place) -> str | None:
        expected = "a date, year first, such as 2026-02-11"
        text = text_of(node, place, expected)
        if text is None:
            return None
        try:
            day = datetime.date.fromisoformat(text) if _DATE.fullmatch(text) else None
        except ValueError:
            day = None
        if day is None:
            place.wrong(node, expected, "field.date")
            return None
        return day.isoformat()

    def schema(self) -> Schema:
        return {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}


@dataclass(frozen=True, slots=True)
class OrNone:
    """Another kind, or the word "none"."""

    kind: Kind

    def read(self, node: Node, place: Place) -> Any:
        if isinstance(node, Scalar) and node.text.casefold() == "none":
            return "none"
        return self.kind.read(node, place)

    def schema(self) -> Schema:
        return {"anyOf": [self.kind.schema(), {"const": "none"}]}


@dataclass(frozen=True, slots=True)
class Checked:
    """A text that must pass a check."""

    passes: Callable[[str], bool]
    expected: str

    def read(self, node: Node, place: Place) -> str | None:
        text = text_of(node, place, self.expected)
        if text is None:
            return None
        if not self.passes(text):
            place.wrong(node, self.expected, "field.text")
            return None
        return text

    def schema(self) -> Schema:
        return {"type": "string"}


@dataclass(frozen=True, slots=True)
class Later:
    """Kept as it stands, to be read once the names of the whole file are known."""

    described: Callable[[], Schema]

    def read(self, node: Node, place: Place) -> Node:
        del place
        return node

    def schema(self) -> Schema:
        return self.described()


def text_of(node: Node, place: Place, expected: str) -> str | None:
    """The words of a scalar with single spaces, or None after noting that there are none."""
    if isinstance(node, Scalar) and node.text.strip() and not node.empty:
        return " ".join(node.text.split())
    if not isinstance(node, Refused):
        place.wrong(node, expected, "field.empty" if isinstance(node, Scalar) else "field.shape")
    return None


def scalar_instead(node: Node, place: Place, expected: str) -> None:
    """Note that a text, a list or nothing stands where names with a colon are wanted."""
    spaced = tight_colon(node.text) if isinstance(node, Scalar) and node.plain else None
    if spaced is not None:
        place.wrong(node, f"a space after the colon: {spaced}", "trap.colon")
    else:
        place.wrong(node, expected, "field.shape")
