"""Numbers with units, as people write them and as people read them. SI inside."""

from latchwork.quantities.awg import area_to_awg, awg_area_m2, awg_diameter_m
from latchwork.quantities.certainty import Certainty
from latchwork.quantities.dimensions import (
    APPARENT_POWER,
    AREA,
    BY_SYMBOL,
    CHARGE,
    CURRENT,
    DIMENSIONS,
    FORCE,
    FRACTION,
    FREQUENCY,
    LENGTH,
    POWER,
    RESISTANCE,
    RESISTANCE_PER_LENGTH,
    TEMPERATURE,
    TIME,
    VOLTAGE,
    Dimension,
)
from latchwork.quantities.parse import GUESS_SPREAD, parse, parse_any, parse_pieces
from latchwork.quantities.quantity import Quantity, QuantityError
from latchwork.quantities.show import System, show, show_near

__all__ = [
    "APPARENT_POWER",
    "AREA",
    "BY_SYMBOL",
    "CHARGE",
    "CURRENT",
    "DIMENSIONS",
    "FORCE",
    "FRACTION",
    "FREQUENCY",
    "GUESS_SPREAD",
    "LENGTH",
    "POWER",
    "RESISTANCE",
    "RESISTANCE_PER_LENGTH",
    "TEMPERATURE",
    "TIME",
    "VOLTAGE",
    "Certainty",
    "Dimension",
    "Quantity",
    "QuantityError",
    "System",
    "area_to_awg",
    "awg_area_m2",
    "awg_diameter_m",
    "parse",
    "parse_any",
    "parse_pieces",
    "show",
    "show_near",
]
