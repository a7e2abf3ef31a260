"""Quantities as people read them."""

from __future__ import annotations

import pytest

from latchwork.quantities import DIMENSIONS, Dimension, Quantity, System, show, show_near


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        (13.3714, "V", "13.37 V", "13.37 V"),
        (9.0, "V", "9.00 V", "9.00 V"),
        (-0.001, "V", "0.00 V", "0.00 V"),
        (0.2781, "A", "0.278 A", "0.278 A"),
        (2.2, "Ω", "2.20 Ω", "2.20 Ω"),
        (10e3, "Ω", "10.00 kΩ", "10.00 kΩ"),
        (5e6, "Ω", "5.00 MΩ", "5.00 MΩ"),
        (18.288, "m", "18.3 m", "60.0 ft"),
        (0.1524, "m", "152 mm", "6.0 in"),
        (0.823e-6, "m²", "0.82 mm²", "18 AWG"),
        (5.0, "s", "5.0 s", "5.0 s"),
        (1800.0, "s", "30.0 min", "30.0 min"),
        (14400.0, "s", "4.0 h", "4.0 h"),
        (35.0, "°C", "35 °C", "95 °F"),
        (22.2411, "N", "22.2 N", "5.0 lbf"),
        (0.15, "1", "15 %", "15 %"),
        (0.085, "Ω/m", "85.0 Ω/km", "25.91 Ω/kft"),
        (float("nan"), "V", "– V", "– V"),
    ],
)
def test_shown_for_the_reader(value: float, unit: str, metric: str, us: str) -> None:
    assert show(value, unit) == metric
    assert show(value, unit, System.US) == us


@pytest.mark.parametrize(
    ("value_m", "metric", "us"),
    [
        # 40 in is 1016 mm, 5 ft 60 in or 1524 mm (an inch is 25.4 mm, agreed 1959); 12 ft is far.
        (1.016, "1016 mm", "40.0 in"),
        (1.524, "1524 mm", "60.0 in"),
        (3.6576, "3.7 m", "12.0 ft"),
        (float("nan"), "– m", "– ft"),
    ],
)
def test_what_is_measured_about_a_door_is_shown_finely(
    value_m: float, metric: str, us: str
) -> None:
    assert show_near(value_m) == metric
    assert show_near(value_m, System.US) == us


@pytest.mark.parametrize("dimension", DIMENSIONS, ids=lambda d: d.name)
def test_every_dimension_can_be_shown(dimension: Dimension) -> None:
    for system in System:
        number, _, unit = show(1.0, dimension.symbol, system).partition(" ")
        assert float(number) != 0.0
        assert unit == "AWG" or dimension.unit(unit) is not None


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="furlong"):
        show(1.0, "furlong")


def test_a_quantity_stays_in_order() -> None:
    with pytest.raises(ValueError, match="out of order"):
        Quantity(1.0, 2.0, 3.0, "V")
