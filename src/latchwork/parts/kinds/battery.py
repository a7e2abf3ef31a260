"""Valve-regulated lead-acid batteries, alone and inside a supply."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.elements import TRUE, Expr, Figure, Flag, Input, Source, SourceShape
from latchwork.parts.arithmetic import not_below, scaled
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import ANY_WORDS
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Least, Word, count, figure

CELL_V = 2.0
"""Nominal volts of a lead-acid cell."""

BATTERY_WORDS: Mapping[str, Word] = {
    "battery capacity": figure("battery_ah", "Ah", "capacity of the battery at the 20 h rate"),
    "battery volts": figure("battery_block_v", "V", "nominal volts of one block"),
    "battery blocks": count("battery_blocks", "blocks in series"),
    "battery resistance": figure("battery_ohm", "Ω", "internal resistance, all blocks"),
    "battery age": figure("battery_age_s", "s", "how long it has been in service", Least.ZERO),
    "battery charge left": figure(
        "battery_charge_share", "1", "charge left when it takes over", Least.ZERO, 1.0
    ),
    "battery rested cell": figure("cell_rested_v", "V", "rested volts of a full cell"),
    "battery flat cell": figure("cell_flat_v", "V", "rested volts of an empty cell"),
    "battery end cell": figure("cell_end_v", "V", "volts a cell at the end of discharge"),
    "battery cell resistance": figure(
        "cell_1ah_ohm", "Ω", "internal resistance of one cell of 1 Ah"
    ),
}
RESISTANCE_EXPONENT = 0.7
"""R = R1 / C^0.7 a cell, see ``battery_figures``."""


def battery_figures(given: Given) -> Mapping[str, Figure]:
    """What a battery of ``battery_blocks`` blocks gives.

    ``battery_v`` rested, in a straight line between an empty and a full cell;
    ``battery_end_v`` at the end of discharge, or the cut-off of its supply where that is
    higher; ``battery_ohm`` by capacity, R = R1 / C^0.7 a cell (C in Ah;
    common practice, no source: about 25 mΩ for 12 V 7 Ah, 14 mΩ for 12 V 17 Ah).
    """
    cells = given.count("battery_blocks", 1) * given.figure("battery_block_v").value / CELL_V
    capacity_ah = given.figure("battery_ah").value
    end = scaled(given.figure("cell_end_v"), cells)
    cut_off = given.find("cut_off_v")
    if cut_off is not None and cut_off.value > end.value:
        end = cut_off
    ohm = given.find("battery_ohm") or scaled(
        given.figure("cell_1ah_ohm"), cells / capacity_ah**RESISTANCE_EXPONENT
    )
    return {
        "battery_v": scaled(_rested_cell(given), cells),
        "battery_end_v": end,
        "battery_ohm": ohm,
    }


def _rested_cell(given: Given) -> Figure:
    flat, left = given.figure("cell_flat_v"), given.find("battery_charge_share")
    full = not_below(given.figure("cell_rested_v"), flat)
    if left is None:
        return full
    return Figure(
        flat.value + (full.value - flat.value) * left.value,
        flat.low + (full.low - flat.low) * left.low,
        flat.high + (full.high - flat.high) * left.high,
        full.source,
        left.certainty,
    )


def battery_source(
    figures: Mapping[str, Figure], plus: str, minus: str, present: Expr = TRUE
) -> Source:
    """The source "battery": flag ``battery_end`` takes it to the end of its discharge."""
    return Source(
        "battery",
        plus,
        minus,
        figures["battery_v"],
        figures["battery_ohm"],
        None,
        SourceShape.BREAKS_DOWN,
        on=present,
        low_volt=figures["battery_end_v"],
        low_when=Flag("battery_end"),
    )


def battery(given: Given) -> Part:
    """A battery of its own, with plus and minus."""
    figures = battery_figures(given)
    piece = Piece(
        (battery_source(figures, "+", "-", Flag("battery_present")),),
        (Input("battery_present", rest=True), Input("battery_end")),
        figures,
    )
    return assemble(given, (("+", "battery_plus"), ("-", "battery_minus")), piece)


BATTERY = Kind(
    "battery", "valve-regulated lead-acid battery", {**ANY_WORDS, **BATTERY_WORDS}, battery
)
