"""The table of worst cases: which end of its range each figure takes, in each case.

| case          | sources | conductors, joints | loads | coils          | thresholds |
|---------------|---------|--------------------|-------|----------------|------------|
| nominal       | value   | value, 20 °C       | value | value, 20 °C   | value      |
| least volts   | low     | high, hot          | high  | low, 20 °C     | high       |
| most volts    | high    | low, cold          | low   | high, 20 °C    | low        |
| most current  | high    | low, cold          | high  | low, cold      | value      |

Copper: R = R20 * (1 + 0.00393 * (t - 20)), IEC 60028, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from latchwork.elements import Figure, ResistorRole

COPPER_PER_K = 0.00393


class Case(StrEnum):
    """Which row of the table."""

    NOMINAL = "nominal"
    LEAST_VOLTS = "least volts"
    MOST_VOLTS = "most volts"
    MOST_CURRENT = "most current"


@dataclass(frozen=True, slots=True)
class Climate:
    """The coldest and hottest the cables and coils get, in °C."""

    cold_c: float = 0.0
    hot_c: float = 40.0


def copper(ohm_20: float, celsius: float) -> float:
    """Resistance of copper at ``celsius`` from its resistance at 20 °C."""
    return ohm_20 * (1.0 + COPPER_PER_K * (celsius - 20.0))


def conductor_ohm(figure: Figure, case: Case, climate: Climate) -> float:
    """Resistance of a conductor in ``case``, ohm."""
    match case:
        case Case.NOMINAL:
            return figure.value
        case Case.LEAST_VOLTS:
            return copper(figure.high, climate.hot_c)
        case _:
            return copper(figure.low, climate.cold_c)


def resistor_ohm(figure: Figure, role: ResistorRole, case: Case, climate: Climate) -> float:
    """Resistance of an element in ``case``, ohm."""
    if role in (ResistorRole.CONDUCTOR, ResistorRole.JOINT):
        return conductor_ohm(figure, case, climate)
    if role is ResistorRole.COIL:
        match case:
            case Case.NOMINAL:
                return figure.value
            case Case.LEAST_VOLTS:
                return figure.low
            case Case.MOST_VOLTS:
                return figure.high
            case Case.MOST_CURRENT:
                return copper(figure.low, climate.cold_c)
    match case:
        case Case.LEAST_VOLTS | Case.MOST_CURRENT:
            return figure.low
        case Case.MOST_VOLTS:
            return figure.high
        case Case.NOMINAL:
            return figure.value


def source_gives(figure: Figure, case: Case) -> float:
    """Volts of a source, or the most amperes it gives, in ``case``."""
    match case:
        case Case.NOMINAL:
            return figure.value
        case Case.LEAST_VOLTS:
            return figure.low
        case _:
            return figure.high


def source_ohm(figure: Figure, case: Case) -> float:
    """Inner resistance of a source in ``case``, ohm."""
    match case:
        case Case.NOMINAL:
            return figure.value
        case Case.LEAST_VOLTS:
            return figure.high
        case _:
            return figure.low


def load_amount(figure: Figure, case: Case) -> float:
    """Watts or amperes of a load in ``case``."""
    match case:
        case Case.NOMINAL:
            return figure.value
        case Case.MOST_VOLTS:
            return figure.low
        case _:
            return figure.high


def threshold_v(figure: Figure, case: Case) -> float:
    """Volts at which a sense moves in ``case``."""
    match case:
        case Case.LEAST_VOLTS:
            return figure.high
        case Case.MOST_VOLTS:
            return figure.low
        case _:
            return figure.value
