"""Showing SI values to people, with a fixed number of decimals so that columns line up."""

from __future__ import annotations

import math
from enum import StrEnum

from latchwork.quantities.awg import area_to_awg
from latchwork.quantities.dimensions import BY_SYMBOL, FOOT_M, INCH_M


class System(StrEnum):
    """Which units people read."""

    METRIC = "metric"
    US = "US"


_DECIMALS = {
    "V": 2,
    "A": 3,
    "Ω": 2,
    "W": 2,
    "VA": 1,
    "m": 1,
    "s": 1,
    "°C": 0,
    "Hz": 0,
    "Ah": 1,
    "N": 1,
}


NEAR_M = 3.048
"""Up to here, ten feet, what is measured about a door is in millimetres or inches."""


def show(value: float, unit: str, system: System = System.METRIC, more: int = 0) -> str:
    """``value`` in the SI unit with symbol ``unit``, as text: "13.37 V", "60.0 ft", "18 AWG".

    Chooses the reader's units: kΩ and MΩ, millimetres below a metre and inches below three feet,
    minutes and hours from two of them on. ``more`` decimals than usual tell like values apart.
    Raises ValueError for a unit that is not known.
    """
    if unit not in BY_SYMBOL:
        raise ValueError(f"no unit {unit!r}")
    number, shown, decimals = (_us if system is System.US else _metric)(value, unit)
    return f"{_fixed(number, decimals + more)} {shown}"


def show_whole(value: float, unit: str, system: System = System.METRIC) -> str:
    """As ``show``, whole where it is whole, as people write it: "17 Ah", "12.5 m"."""
    return show(value, unit, system).replace(".0 ", " ")


def show_near(value_m: float, system: System = System.METRIC, more: int = 0) -> str:
    """A height or distance about a door, as codes and rules give it: "1016 mm", "40.0 in".

    A tenth of a metre or of a foot is too coarse for those. Cables are shown by ``show``.
    """
    if not abs(value_m) <= NEAR_M:
        return show(value_m, "m", system, more)
    if system is System.US:
        return f"{_fixed(value_m / INCH_M, 1 + more)} in"
    return f"{_fixed(value_m * 1e3, more)} mm"


def _fixed(number: float, decimals: int) -> str:
    if not math.isfinite(number):
        return "–"
    return f"{round(number, decimals) + 0.0:.{decimals}f}"


def _metric(value: float, unit: str) -> tuple[float, str, int]:
    match unit:
        case "Ω" if abs(value) >= 1e6:
            return value / 1e6, "MΩ", 2
        case "Ω" if abs(value) >= 1e3:
            return value / 1e3, "kΩ", 2
        case "m" if abs(value) < 1.0:
            return value * 1e3, "mm", 0
        case "m²":
            return value * 1e6, "mm²", 2
        case "s" if abs(value) >= 7200.0:
            return value / 3600.0, "h", 1
        case "s" if abs(value) >= 120.0:
            return value / 60.0, "min", 1
        case "1":
            return value * 100.0, "%", 0
        case "Ω/m":
            return value * 1e3, "Ω/km", 1
        case _:
            return value, unit, _DECIMALS[unit]


def _us(value: float, unit: str) -> tuple[float, str, int]:
    match unit:
        case "m" if abs(value) < 0.9144:
            return value / INCH_M, "in", 1
        case "m":
            return value / FOOT_M, "ft", 1
        case "m²" if value > 0.0:
            return area_to_awg(value), "AWG", 0
        case "°C":
            return value * 1.8 + 32.0, "°F", 0
        case "N":
            return value / 4.4482216152605, "lbf", 1
        case "Ω/m":
            return value * 304.8, "Ω/kft", 2
        case _:
            return _metric(value, unit)
