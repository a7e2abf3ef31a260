"""Devices as written: a part's name, what differs from the catalogue, where it stands."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from latchwork.job.fields import Field, Table, read_table, table, table_schema
from latchwork.job.model import Fact, PartUse
from latchwork.job.notes import Place
from latchwork.job.values import Schema, Text, text_of
from latchwork.quantities import QuantityError, parse_any
from latchwork.tree.nodes import Entries, Node, Scalar

REMOVED = PartUse("none")
"""What the word "none" reads as: there is no such device, whatever is usual."""

WORD_SCHEMA: Schema = {"type": ["string", "integer", "boolean"]}

_COUNT = re.compile(r"0|[1-9][0-9]{0,8}")
_FIGURES = re.compile(r"[0-9]+")
# Only these: NO and on are names of contacts and states here, whatever YAML makes of them.
_YES_NO = {"yes": True, "true": True, "no": False, "false": False}

_DEVICE = (
    Field("part", Text(), "The part's name in the catalogue.", "strike 24 V fail-secure"),
    Field("place", Text(), "Where it stands.", "in the ceiling"),
)


@dataclass(frozen=True, slots=True)
class Device:
    """A part's name alone ("strike 24 V fail-secure"), or a table with ``part`` and more.

    Further names are figures where a number with a unit stands behind them, else settings; which
    of them a part takes is known to the catalogue alone. ``partial``: the part may be said
    elsewhere.
    """

    partial: bool = False

    def read(self, node: Node, place: Place) -> PartUse | None:
        found = read_use(node, place, {}, partial=self.partial)
        return None if found is None else found[0]

    def schema(self) -> Schema:
        return use_schema({})


def read_use(
    node: Node, place: Place, more: Table, *, partial: bool = False
) -> tuple[PartUse, dict[str, Any]] | None:
    """A device, and the values of the fields ``more`` that are no words of its part."""
    if isinstance(node, Scalar):
        use = _by_name(node, place)
        return None if use is None else (use, {})
    fields = {**table(*_DEVICE), **more}
    values, figures, settings = read_figures(node, place, fields)
    if "part" not in values:
        if isinstance(node, Entries) and not partial and node.get("part") is None:
            place.wrong(node, "part: and its name", "device.no-part", "no part")
        return None
    use = PartUse(values.pop("part"), figures, settings, values.pop("place", ""))
    return use, values


def use_schema(more: Table) -> Schema:
    """The JSON Schema of a device with the fields ``more``."""
    full = table_schema({**table(*_DEVICE), **more}, other=WORD_SCHEMA)
    return {"anyOf": [{"type": "string"}, full]}


def read_figures(
    node: Node, place: Place, fields: Table
) -> tuple[dict[str, Any], dict[str, Fact], dict[str, str | int | bool]]:
    """The values of a table, and the figures and settings of all other names in it."""
    figures: dict[str, Fact] = {}
    settings: dict[str, str | int | bool] = {}

    def other(key: Scalar, value: Node, inner: Place) -> None:
        _word(key.text, value, inner, figures, settings)

    return read_table(node, fields, place, other=other), figures, settings


def _by_name(node: Scalar, place: Place) -> PartUse | None:
    text = text_of(node, place, "a part's name")
    if text is None:
        return None
    if text.casefold() in ("no", "off", "false"):
        place.wrong(node, "none, to say that there is none", "device.no")
        return None
    return REMOVED if text.casefold() == "none" else PartUse(text)


def _word(
    word: str,
    node: Node,
    place: Place,
    figures: dict[str, Fact],
    settings: dict[str, str | int | bool],
) -> None:
    """Put what stands behind one word of a part into its figures or its settings."""
    text = text_of(node, place, "a number with its unit, or a word")
    if text is None:
        return
    if _COUNT.fullmatch(text):
        settings[word] = int(text)
    elif text in _YES_NO:
        settings[word] = _YES_NO[text]
    elif _FIGURES.fullmatch(text):
        # A leading nought or too many figures for a count: a name made of figures.
        settings[word] = text
    else:
        try:
            figure = parse_any(text)
        except QuantityError as error:
            if error.code != "quantity.not-a-number":
                place.bad_quantity(node, error)
            else:
                settings[word] = text
        else:
            if figure is not None:
                figures[word] = figure
