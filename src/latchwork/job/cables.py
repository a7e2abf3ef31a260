"""Cables with a length, taps along them, and joints."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from latchwork.job.fields import Field, read_table, table, table_schema
from latchwork.job.model import Fact, Joint, Run, Tap
from latchwork.job.notes import Place
from latchwork.job.values import Measure, Schema, Text, below_zero, text_of
from latchwork.quantities import (
    CURRENT,
    LENGTH,
    RESISTANCE,
    RESISTANCE_PER_LENGTH,
    TEMPERATURE,
    QuantityError,
    parse,
)
from latchwork.tree.nodes import Node, Scalar

_EXAMPLE = "18 m of 2 x 1.0 mm²"
_FROM = re.compile(r"(?:(.*?)\s+)?from\s+(?:the\s+)?(.+)", re.IGNORECASE)
_TIMES = re.compile(r"(?<=\d)\s*[x×*]\s*(?=\d|awg)", re.IGNORECASE)
_GAUGE = re.compile(r"(?:\bawg\s*(\d{1,2})|(\d{1,2})\s*awg)\b", re.IGNORECASE)
_SQUARE = re.compile(r"(?<=\d)\s*(?:mm(?:²|2|\^2)|sq mm)(?!\d)", re.IGNORECASE)
_BARE_AREA = re.compile(r"\d+ x \d+(?:[.,]\d+)?")
_COMMA = re.compile(r"(\d),(\d)")


@dataclass(frozen=True, slots=True)
class _Cable:
    """A type of cable: "2 x 1.0 mm²", "4 x 18 AWG", "category cable"."""

    def read(self, node: Node, place: Place) -> str | None:
        text = text_of(node, place, "a type of cable, such as 2 x 1.0 mm²")
        return None if text is None else _cable_type(text, node, place)

    def schema(self) -> Schema:
        return {"type": "string"}


def _cable_type(text: str, node: Node, place: Place) -> str | None:
    cable = _SQUARE.sub(" mm²", _TIMES.sub(" x ", text))
    cable = _GAUGE.sub(lambda found: f"{found[1] or found[2]} AWG", cable)
    if _COMMA.search(cable):
        with_point = _COMMA.sub(r"\1.\2", cable)
        place.wrong(node, f"a decimal point: {with_point}", "quantity.decimal-comma")
        return None
    if _BARE_AREA.fullmatch(cable):
        place.wrong(node, f"the unit of its cores: {cable} mm² or AWG", "quantity.no-unit")
        return None
    return cable


@dataclass(frozen=True, slots=True)
class RunKind:
    """ "18 m of 2 x 1.0 mm²", or a table with ``cable``, ``length`` and measured figures."""

    def read(self, node: Node, place: Place) -> Run | None:
        if not isinstance(node, Scalar):
            return self._table(node, place)
        text = text_of(node, place, f"such as {_EXAMPLE}")
        if text is None:
            return None
        length, of, cable = text.partition(" of ")
        if not of:
            place.wrong(node, f"a length, the word of, and the cable: {_EXAMPLE}", "run.form")
            return None
        try:
            length_m = parse(length, LENGTH)
        except QuantityError as error:
            place.bad_quantity(node, error)
            return None
        kind = _cable_type(cable.strip(), node, place)
        if length_m is None:
            place.notes.unknown.append(f"{place.path}.length")
        elif below_zero(length_m, LENGTH, node, place):
            return None
        return None if kind is None else Run(kind, length_m)

    def _table(self, node: Node, place: Place) -> Run | None:
        values = read_table(node, _RUN, place)
        if "cable" not in values:
            return None
        if "length" not in values:
            place.notes.unknown.append(f"{place.path}.length")
        figures = {name: values[name] for name in _RUN_FIGURES if name in values}
        return Run(values["cable"], values.get("length"), figures)

    def schema(self) -> Schema:
        return {"anyOf": [{"type": "string"}, table_schema(_RUN)]}


_RUN_FIGURES = ("loop resistance", "core resistance", "resistance", "temperature", "current limit")
_RUN = table(
    Field("cable", _Cable(), "The type of cable.", "2 x 1.0 mm²", required=True),
    Field("length", Measure(LENGTH), "Its length, walked.", "about 20 m"),
    Field("loop resistance", Measure(RESISTANCE), "Two cores in series.", "measured 0.7 ohm"),
    Field("core resistance", Measure(RESISTANCE), "One core, end to end.", "measured 0.35 ohm"),
    Field("resistance", Measure(RESISTANCE_PER_LENGTH), "Of one core at 20 °C.", "19.5 ohm/km"),
    Field("temperature", Measure(TEMPERATURE), "Where it runs.", "-5 to 50 °C"),
    Field("current limit", Measure(CURRENT), "What a core may carry.", "6 A"),
)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place along a cable as written: how far from which end. Either may be unsaid."""

    at_m: Fact | None
    from_end: str


@dataclass(frozen=True, slots=True)
class SpotKind:
    """ "4 m from controller", "4 m", "from the controller"."""

    def read(self, node: Node, place: Place) -> Spot | None:
        text = text_of(node, place, "such as 4 m from controller")
        if text is None:
            return None
        match = _FROM.fullmatch(text)
        length, end = (match[1], match[2]) if match else (text, "")
        if not length:
            return Spot(None, end)
        try:
            at_m = parse(length, LENGTH)
        except QuantityError as error:
            place.bad_quantity(node, error)
            return None
        if at_m is None:
            place.notes.unknown.append(place.path)
        elif below_zero(at_m, LENGTH, node, place):
            return None
        return Spot(at_m, end)

    def schema(self) -> Schema:
        return {"type": "string"}


@dataclass(frozen=True, slots=True)
class TapKind:
    """A tap part-way along a shared cable."""

    def read(self, node: Node, place: Place) -> Tap | None:
        values: dict[str, Any] = read_table(node, _TAP, place)
        spot: Spot | None = values.get("at")
        if f"{place.path}.at" in place.notes.unknown or (spot and spot.at_m is None):
            expected = "how far along the cable, if only a guess: at: about 20 m"
            place.wrong(node, expected, "tap.no-length", "no length")
            return None
        if "on" not in values or spot is None or spot.at_m is None:
            return None
        return Tap(values["on"], spot.at_m, spot.from_end, values.get("place", ""))

    def schema(self) -> Schema:
        return table_schema(_TAP)


@dataclass(frozen=True, slots=True)
class JointKind:
    """A joint between cores."""

    def read(self, node: Node, place: Place) -> Joint:
        values = read_table(node, _JOINT, place)
        return Joint(values.get("place", ""), values.get("made", ""), values.get("resistance"))

    def schema(self) -> Schema:
        return table_schema(_JOINT)


_TAP = table(
    Field("on", Text(), "The cable's id.", "trunk", required=True),
    Field("at", SpotKind(), "How far along, and from which end.", "21 m from S1", required=True),
    Field("place", Text(), "Where to find it.", "terminal box over the side door"),
)
_JOINT = table(
    Field("place", Text(), "Where to find it.", "ceiling box by the lobby"),
    Field("made", Text(), "How it is made.", "screw block"),
    Field("resistance", Measure(RESISTANCE), "Its resistance.", "measured 0.02 ohm"),
)
