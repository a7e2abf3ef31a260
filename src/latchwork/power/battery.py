"""Lead-acid batteries: the discharge law, ageing, cold, and the plain amp-hour method.

Peukert: t = H * (C / (I * H))^k, with t in hours, I the load in amperes, C the capacity in Ah at
the H = 20 h rate, k about 1.1 to 1.25 for small valve-regulated blocks (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from latchwork.parts.kinds.battery import RESISTANCE_EXPONENT

BLOCKS_AH = (7, 12, 17, 24, 38)
"""Ordinary sizes of blocks (common practice, no source)."""
RATE_H = 20.0
"""Hours of the rate at which small valve-regulated blocks are rated (IEC 61056-1, from memory)."""
PEUKERT = 1.2
"""Exponent (common practice, no source; 1.194 fits a typical 12 V 7 Ah block from 20 h to 1 h)."""
AGEING = 1.25
"""Replaced at 80 % of capacity (IEEE 485, from memory)."""
MARGIN = 1.10
"""Design margin (IEEE 485, 1.10 to 1.15, from memory)."""
CHARGE_BACK = 1.2
"""Ah to put back for each Ah taken (common practice, no source)."""
COLD_FACTORS = (
    (-3.9, 1.52),
    (4.4, 1.30),
    (10.0, 1.19),
    (15.6, 1.11),
    (21.1, 1.04),
    (25.0, 1.00),
)
"""Capacity factor by °C, IEEE 485 table 1, 1.215 specific gravity cells, from memory; made for
vented cells and borrowed for small sealed ones."""


def cold_factor(celsius: float) -> float:
    """How many times more capacity is needed at ``celsius`` than at 25 °C; never below 1.

    Straight lines between the table's points, and on past its coldest one.
    """
    for (c0, f0), (c1, f1) in pairwise(COLD_FACTORS):
        if celsius < c1:
            return f0 + (f1 - f0) * (celsius - c0) / (c1 - c0)
    return 1.0


def peukert_ah(current_a: float, hours: float, exponent: float = PEUKERT) -> float:
    """The rated capacity in Ah that lasts ``hours`` at a steady current."""
    share = hours / RATE_H
    return current_a * RATE_H * (share if share >= 1.0 else share ** (1.0 / exponent))


def worn_share(own_ohm: float, found_ohm: float) -> float:
    """The share of its capacity that a worn battery has left: what has its resistance new has so
    much, by the law that gives a battery its resistance (common practice, no source)."""
    return min(1.0, float((own_ohm / found_ohm) ** (1.0 / RESISTANCE_EXPONENT)))


@dataclass(frozen=True, slots=True)
class PlainMethod:
    """The amp-hour method with its working: needed = base x ageing x margin x cold."""

    current_a: float
    hours: float
    base_ah: float
    ageing: float
    margin: float
    cold: float

    @property
    def needed_ah(self) -> float:
        """Capacity to fit, Ah."""
        return self.base_ah * self.ageing * self.margin * self.cold


def plain_method(current_a: float, hours: float, celsius: float) -> PlainMethod:
    """The amp-hour method for a steady current over ``hours`` at the coldest ``celsius``."""
    base = peukert_ah(current_a, hours)
    return PlainMethod(current_a, hours, base, AGEING, MARGIN, cold_factor(celsius))
