"""American wire gauge to area and back, by the gauge's own geometric rule."""

from __future__ import annotations

import math

AWG_RANGE = range(0, 41)
"""Gauges taken: 0 to 40."""

_DIAMETER_36_M = 0.127e-3
_RATIO = 92.0
_STEPS = 39.0


def awg_diameter_m(gauge: float) -> float:
    """Diameter of a solid wire of that gauge, in metres.

    d = 0.127 mm * 92 ** ((36 - n) / 39) (ASTM B258; from memory).
    """
    return float(_DIAMETER_36_M * _RATIO ** ((36.0 - gauge) / _STEPS))


def awg_area_m2(gauge: float) -> float:
    """Cross-section of a solid wire of that gauge, in square metres (ASTM B258; from memory)."""
    return math.pi / 4.0 * awg_diameter_m(gauge) ** 2


def area_to_awg(area_m2: float) -> float:
    """The gauge, not rounded, whose solid wire has this cross-section in square metres.

    Raises ValueError for an area that is not above zero.
    """
    if not area_m2 > 0.0:
        raise ValueError(f"no gauge for an area of {area_m2} m²")
    diameter_m = math.sqrt(4.0 * area_m2 / math.pi)
    return 36.0 - _STEPS * math.log(diameter_m / _DIAMETER_36_M, _RATIO)
