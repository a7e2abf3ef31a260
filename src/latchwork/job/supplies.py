"""Supplies, their batteries and their fused outputs."""

from __future__ import annotations

import re
from dataclasses import dataclass

from latchwork.job.devices import REMOVED, WORD_SCHEMA, read_figures, read_use, use_schema
from latchwork.job.fields import ById, Field, read_table, table, table_schema
from latchwork.job.model import PartUse, Supply
from latchwork.job.notes import Place
from latchwork.job.values import Measure, OrNone, Schema, text_of
from latchwork.quantities import CHARGE, CURRENT, RESISTANCE, VOLTAGE, QuantityError, parse_pieces
from latchwork.tree.nodes import Node, Scalar

_BLOCKS = re.compile(r"(?:([1-9][0-9]?)\s*[x×]\s*)?(.+)")
_EXAMPLE = "2 x 12 V 17 Ah"
_NO_BATTERY = (0, REMOVED)


@dataclass(frozen=True, slots=True)
class _Blocks:
    """Blocks in series, or none: "2 x 12 V 17 Ah"."""

    def read(self, node: Node, place: Place) -> tuple[int, PartUse] | None:
        text = text_of(node, place, f"such as {_EXAMPLE}")
        if text is None:
            return None
        if text.casefold() == "none":
            return _NO_BATTERY
        match = _BLOCKS.fullmatch(text)
        count, block = (int(match[1] or 1), match[2]) if match else (1, text)
        try:
            volts, charge = parse_pieces(block, VOLTAGE, CHARGE)
        except QuantityError:
            expected = f"blocks, volts and amp-hours, such as {_EXAMPLE}"
            place.wrong(node, expected, "battery.form")
            return None
        return count, PartUse("battery", {"voltage": volts, "capacity": charge})

    def schema(self) -> Schema:
        return {"type": "string"}


@dataclass(frozen=True, slots=True)
class _Battery:
    """The blocks alone, or a table with ``blocks`` and what else is known, such as their age."""

    def read(self, node: Node, place: Place) -> tuple[int, PartUse] | None:
        if isinstance(node, Scalar):
            return _Blocks().read(node, place)
        values, figures, settings = read_figures(node, place, _BATTERY)
        if "blocks" not in values:
            return None
        count, use = values["blocks"]
        return count, PartUse(use.part, {**use.figures, **figures}, settings)

    def schema(self) -> Schema:
        return {"anyOf": [{"type": "string"}, table_schema(_BATTERY, other=WORD_SCHEMA)]}


@dataclass(frozen=True, slots=True)
class _Output:
    """An output and its fuse."""

    def read(self, node: Node, place: Place) -> PartUse | None:
        values = read_table(node, _OUTPUT, place)
        fuses = [part for part in ("fuse", "polymer fuse") if part in values]
        if len(fuses) > 1:
            place.wrong(node, "one fuse", "supply.two-fuses", "fuse and polymer fuse")
        if not fuses:
            return PartUse("fuse")
        if values[fuses[0]] == "none":
            return REMOVED
        figures = {"rating": values[fuses[0]]}
        if "resistance" in values:
            figures["resistance"] = values["resistance"]
        return PartUse(fuses[0], figures)

    def schema(self) -> Schema:
        return table_schema(_OUTPUT)


@dataclass(frozen=True, slots=True)
class SupplyKind:
    """A part's name alone, or a table with ``part``, ``battery``, ``outputs`` and figures."""

    def read(self, node: Node, place: Place) -> Supply | None:
        found = read_use(node, place, _SUPPLY)
        if found is None:
            return None
        use, more = found
        count, battery = more.get("battery", _NO_BATTERY)
        return Supply(
            id=place.path.rpartition(".")[2],
            use=use,
            battery=None if battery is REMOVED else battery,
            battery_blocks=count,
            outputs=more.get("outputs", {}),
            place=use.place,
        )

    def schema(self) -> Schema:
        return use_schema(_SUPPLY)


_BATTERY = table(Field("blocks", _Blocks(), "Blocks in series.", _EXAMPLE, required=True))
_OUTPUT = table(
    Field("fuse", OrNone(Measure(CURRENT)), "Rating of the fuse, or none.", "1.0 A"),
    Field("polymer fuse", OrNone(Measure(CURRENT)), "Rating of a self-resetting fuse.", "1.1 A"),
    Field("resistance", Measure(RESISTANCE), "Cold resistance of the fuse.", "0.1 ohm"),
)
_SUPPLY = table(
    Field("battery", _Battery(), "Blocks in series, or none.", _EXAMPLE),
    Field("outputs", ById(_Output()), "Outputs by name, each with its fuse.", "{1: {fuse: 1.0 A}}"),
)
